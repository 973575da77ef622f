"""What must be renewed: one open renewal a property, its zones, the windows behind them."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.stamps import Stamped
from scheduling.rules.visit_states import RENEWAL_STATE_WORDS, WORK_WORDS, RenewalState, Work
from sites.rules.places import choices

WAITING_STATES = (RenewalState.DUE, RenewalState.OFFERED)
OPEN_STATES = (*WAITING_STATES, RenewalState.BOOKED)


class RenewalQuerySet(models.QuerySet["Renewal"]):
    """Renewals in the words of the office."""

    def waiting(self) -> RenewalQuerySet:
        return self.filter(state__in=WAITING_STATES)

    def open(self) -> RenewalQuerySet:
        return self.filter(state__in=OPEN_STATES)


class Renewal(Stamped):
    """The residual treatment of some zones of a property is due again, with the reason."""

    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="+")
    state = models.CharField(
        max_length=12, choices=choices(RENEWAL_STATE_WORDS), default=RenewalState.DUE
    )
    work = models.CharField(max_length=8, choices=choices(WORK_WORDS), default=Work.TREAT)
    opens_on = models.DateField()
    due_on = models.DateField()
    lapses_on = models.DateField()
    reason = models.TextField()
    closing_note = models.CharField(max_length=300, blank=True)

    objects = RenewalQuerySet.as_manager()

    class Meta:
        ordering = ("lapses_on", "pk")
        indexes = (models.Index(fields=["state", "lapses_on"], name="renewal_state_lapse"),)

    def __str__(self) -> str:
        return f"Renewal at {self.property}, lapses {self.lapses_on}"

    def get_absolute_url(self) -> str:
        return reverse("renewal", args=[self.pk])


class RenewalZone(models.Model):
    """A zone of a renewal; one window opens at most one renewal, ever."""

    renewal = models.ForeignKey(Renewal, on_delete=models.CASCADE, related_name="zones")
    zone = models.ForeignKey("sites.TreatableZone", on_delete=models.PROTECT, related_name="+")
    window = models.OneToOneField(
        "treatments.ResidualWindow", on_delete=models.CASCADE, related_name="+"
    )

    def __str__(self) -> str:
        return f"Zone {self.zone_id} of renewal {self.renewal_id}"
