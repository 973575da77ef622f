"""When somebody comes: visits, what they answer and what was recorded at them."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from accounts.stamps import Stamped
from scheduling.models.overlap import NoOverlap
from scheduling.rules.visit_states import (
    VISIT_KIND_WORDS,
    VISIT_STATE_WORDS,
    VisitKind,
    VisitState,
)
from sites.rules.places import choices

OPEN_STATES = (VisitState.BOOKED, VisitState.STARTED, VisitState.FINISHING)


class VisitQuerySet(models.QuerySet["Visit"]):
    """Visits in the words of the office."""

    def open(self) -> VisitQuerySet:
        return self.filter(state__in=OPEN_STATES)

    def not_canceled(self) -> VisitQuerySet:
        return self.exclude(state=VisitState.CANCELED)

    def of_day(self, day: date) -> VisitQuerySet:
        return self.filter(day=day)


class Visit(Stamped):
    """One promised arrival at a property.

    `window_*` is the promise to the customer and may overlap other promises; `starts_at` and
    `ends_at` are the planned work, whole minutes, and never overlap for one technician.
    """

    ref = models.UUIDField(default=uuid4, unique=True, editable=False)
    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(
        max_length=16, choices=choices(VISIT_KIND_WORDS), default=VisitKind.RENEWAL
    )
    state = models.CharField(
        max_length=12, choices=choices(VISIT_STATE_WORDS), default=VisitState.BOOKED
    )
    technician = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, related_name="+")
    renewal = models.ForeignKey(
        "scheduling.Renewal",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="visits",
    )
    day = models.DateField()
    window_opens_at = models.DateTimeField()
    window_closes_at = models.DateTimeField()
    starts_at = models.DateTimeField(null=True, blank=True)
    ends_at = models.DateTimeField(null=True, blank=True)
    minutes = models.PositiveIntegerField(default=45)
    note = models.CharField(max_length=300, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    ending_note = models.CharField(max_length=300, blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ("window_opens_at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(window_closes_at__gt=F("window_opens_at")),
                name="visit_window_has_length",
            ),
            models.CheckConstraint(
                condition=Q(starts_at__isnull=True, ends_at__isnull=True)
                | Q(ends_at__gt=F("starts_at")),
                name="visit_planned_whole",
            ),
            models.UniqueConstraint(
                fields=["renewal"],
                condition=Q(state__in=OPEN_STATES),
                name="renewal_booked_once",
            ),
        )
        indexes = (
            models.Index(fields=["technician", "day"], name="visit_technician_day"),
            models.Index(fields=["property", "day"], name="visit_property_day"),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.property} on {self.day}"

    def get_absolute_url(self) -> str:
        return reverse("visit", args=[self.pk])


class VisitApplication(models.Model):
    """A record made at a visit; derived from the record's `visit_ref`, which is in the log."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="applications")
    record = models.OneToOneField(
        "treatments.ApplicationRecord", on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"Record {self.record_id} of visit {self.visit_id}"


class VisitIdentification(models.Model):
    """What was identified at a visit; derived from the identification's `visit_ref`."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="identifications")
    identification = models.OneToOneField(
        "sites.Identification", on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"Identification {self.identification_id} at visit {self.visit_id}"


class BaitRecord(models.Model):
    """Which record accounts for the bait that a check of a device added."""

    check_of = models.OneToOneField("sites.DeviceCheck", on_delete=models.PROTECT, related_name="+")
    record = models.ForeignKey(
        "treatments.ApplicationRecord", on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"Bait of check {self.check_of_id} in record {self.record_id}"


VISIT_GUARDS = (NoOverlap("scheduling_visit", "technician_id", "canceled"),)
