"""What the certified applicator decided where a label is silent (FIFRA 2(ee))."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.rules.products import LABEL_METHOD_WORDS


class UnlistedUseDecision(Stamped):
    """A method or pests that a direction does not name: asked, then decided once and signed.

    `pests` are the names the direction lacks, empty when only the method is not mentioned. With
    `visit_ref` it is about that visit, without about the property on `decided_on`. The license is
    kept as it was on the day; an undecided row still waits for a certified applicator.
    """

    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="+")
    visit_ref = models.CharField(max_length=40, blank=True)
    label_use = models.ForeignKey("treatments.LabelUse", on_delete=models.PROTECT, related_name="+")
    method = models.CharField(max_length=16, choices=choices(LABEL_METHOD_WORDS))
    pests = models.JSONField(default=list, blank=True)
    is_allowed = models.BooleanField(null=True)
    reason = models.CharField(max_length=300, blank=True)
    decided_by = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, related_name="+"
    )
    license_number = models.CharField(max_length=40, blank=True)
    license_state = models.CharField(max_length=2, blank=True)
    decided_on = models.DateField(null=True)
    decided_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        indexes = (models.Index(fields=["property", "label_use"], name="decision_of_a_use"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(
                    is_allowed__isnull=True,
                    decided_by__isnull=True,
                    decided_on__isnull=True,
                    decided_at__isnull=True,
                    license_number="",
                )
                | Q(
                    is_allowed__isnull=False,
                    decided_by__isnull=False,
                    decided_on__isnull=False,
                    decided_at__isnull=False,
                )
                & ~Q(license_number="")
                & ~Q(reason=""),
                name="decision_is_signed_whole",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_method_display()} by {self.label_use}"

    def get_absolute_url(self) -> str:
        return reverse("unlisted_use", args=[self.pk])


_DECIDED = "OLD.decided_at IS NOT NULL"
GUARDS = (Guard("treatments_unlistedusedecision", update_when=_DECIDED),)
