"""What was looked at in a building and what was found: rows that only add.

An inspection is begun, its checkpoints are answered, findings are added, it is ended; whatever
becomes of a finding later is a row of its own.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.models.pests import Pest
from sites.models.places import Property, TreatableZone
from sites.rules.checkpoints import BY_CODE, CHECKPOINT_CHOICES
from sites.rules.findings import (
    CLOSING_WORDS,
    CONDITION_WORDS,
    KIND_WORDS,
    SEVERITY_WORDS,
)
from sites.rules.gaps import SHAPE_WORDS, Gap, Shape
from sites.rules.places import choices
from sites.rules.sealing import OPENING_WORDS, Opening


class Inspection(Stamped):
    """One round through a property; `visit_ref` names the visit it was made at, if any."""

    client_ref = models.UUIDField(unique=True)
    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="inspections")
    visit_ref = models.CharField(max_length=40, blank=True)
    begun_at = models.DateTimeField()

    class Meta:
        ordering = ("-begun_at", "-pk")

    def __str__(self) -> str:
        return f"Inspection {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("inspection_round", args=[self.pk])


class CheckpointAnswer(Stamped):
    """A checkpoint that was looked at without finding anything."""

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="answers")
    checkpoint = models.CharField(max_length=20, choices=CHECKPOINT_CHOICES)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(
                fields=["inspection", "checkpoint"], name="checkpoint_answered_once"
            ),
        )

    def __str__(self) -> str:
        return f"Nothing found: {self.get_checkpoint_display()}"


class InspectionEnding(Stamped):
    """The end of a round: when, and what the inspector says of the whole."""

    inspection = models.OneToOneField(Inspection, on_delete=models.PROTECT, related_name="ending")
    ended_at = models.DateTimeField()
    is_nothing_found = models.BooleanField()
    words = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"End of inspection {self.inspection_id}"


class Finding(Stamped):
    """One thing found at one checkpoint.

    A measured opening is `gap_nm` whole nanometers with the words as typed; empty where none was
    measured.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="findings")
    checkpoint = models.CharField(max_length=20, choices=CHECKPOINT_CHOICES)
    kind = models.CharField(max_length=12, choices=choices(KIND_WORDS))
    severity = models.CharField(max_length=8, choices=choices(SEVERITY_WORDS))
    spot = models.CharField(max_length=120, blank=True)
    pest = models.ForeignKey(Pest, on_delete=models.PROTECT, null=True, related_name="+")
    condition = models.CharField(max_length=20, choices=list(CONDITION_WORDS.items()), blank=True)
    gap_shape = models.CharField(max_length=4, choices=choices(SHAPE_WORDS), blank=True)
    gap_text = models.CharField(max_length=20, blank=True)
    gap_nm = models.BigIntegerField(null=True)
    opening = models.CharField(max_length=16, choices=choices(OPENING_WORDS), default=Opening.PLAIN)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(gap_nm__isnull=True, gap_shape="", gap_text="")
                | Q(gap_nm__gt=0) & ~Q(gap_shape="") & ~Q(gap_text=""),
                name="gap_is_measured_whole",
            ),
        )

    def __str__(self) -> str:
        what = self.pest or (self.get_condition_display() if self.condition else "")
        place = f"{BY_CODE[self.checkpoint].name}{f', {self.spot}' if self.spot else ''}"
        told = f"{self.get_kind_display()}{f': {what}' if what else ''}"
        return f"{told}{f', {self.gap_text}' if self.gap_text else ''} ({place})"

    def get_absolute_url(self) -> str:
        return reverse("finding", args=[self.pk])

    @property
    def gap(self) -> Gap | None:
        """The opening as the rules take it."""
        if self.gap_nm is None:
            return None
        return Gap(Shape(self.gap_shape), self.gap_nm, self.gap_text)


class FindingClosing(Stamped):
    """What became of a finding."""

    finding = models.OneToOneField(Finding, on_delete=models.PROTECT, related_name="closing")
    kind = models.CharField(max_length=12, choices=choices(CLOSING_WORDS))
    closed_at = models.DateTimeField()
    words = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, finding {self.finding_id}"


class FindingZone(Stamped):
    """A zone that was made from a finding."""

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="zones")
    zone = models.OneToOneField(TreatableZone, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"Zone {self.zone_id} from finding {self.finding_id}"


class InspectionReport(Stamped):
    """The report on paper as it was made, with its digest; another state makes another report."""

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="reports")
    content = models.BinaryField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"Report {self.pk} of inspection {self.inspection_id}"

    def get_absolute_url(self) -> str:
        return reverse("inspection_report", args=[self.pk])


GUARDS = (
    Guard("sites_inspection", keys=(("client_ref",),)),
    Guard("sites_checkpointanswer", keys=(("inspection_id", "checkpoint"),)),
    Guard("sites_inspectionending", keys=(("inspection_id",),)),
    Guard("sites_finding", keys=(("client_ref",),)),
    Guard("sites_findingclosing", keys=(("finding_id",),)),
    Guard("sites_findingzone", keys=(("zone_id",),)),
    Guard("sites_inspectionreport"),
)
