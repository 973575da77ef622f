"""How long it holds: windows made once, and the protection derived from them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import PEST_GROUP_WORDS, choices


class HistoricBatch(Stamped):
    """One reading of a firm's spreadsheet, with the digest of the file."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    rows = models.PositiveIntegerField()

    class Meta:
        verbose_name_plural = "historic batches"

    def __str__(self) -> str:
        return self.file_name


class HistoricTreatment(Stamped):
    """A last treatment as the firm's spreadsheet says it: not a record, nothing made up."""

    batch = models.ForeignKey(HistoricBatch, on_delete=models.CASCADE, related_name="treatments")
    zone = models.ForeignKey("sites.TreatableZone", on_delete=models.PROTECT, related_name="+")
    product_as_written = models.CharField(max_length=160, blank=True)
    applicator_as_written = models.CharField(max_length=120, blank=True)
    applied_on = models.DateField()
    residual_days = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["zone", "applied_on"], name="historic_day_once"),
        )

    def __str__(self) -> str:
        return f"{self.product_as_written or 'Product not written'} on {self.applied_on}"


class ResidualWindow(Stamped):
    """How long one treatment of one zone holds against one pest group; made once, kept as made."""

    zone = models.ForeignKey("sites.TreatableZone", on_delete=models.PROTECT, related_name="+")
    pest_group = models.CharField(max_length=16, choices=choices(PEST_GROUP_WORDS))
    treated_area = models.ForeignKey(
        "treatments.TreatedArea", on_delete=models.PROTECT, null=True, related_name="windows"
    )
    historic = models.ForeignKey(
        HistoricTreatment, on_delete=models.CASCADE, null=True, related_name="windows"
    )
    claim_days = models.PositiveIntegerField()
    days = models.PositiveIntegerField()
    factors = models.JSONField(default=dict)
    applied_on = models.DateField()
    opens_on = models.DateField()
    expires_on = models.DateField()

    class Meta:
        ordering = ("applied_on", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=["treated_area", "pest_group"], name="window_once_a_treated_area"
            ),
            models.UniqueConstraint(
                fields=["historic", "pest_group"], name="window_once_a_historic_treatment"
            ),
            models.CheckConstraint(
                condition=Q(treated_area__isnull=True) ^ Q(historic__isnull=True),
                name="window_has_one_source",
            ),
        )
        indexes = (models.Index(fields=["zone", "pest_group", "applied_on"], name="window_zone"),)

    def __str__(self) -> str:
        return f"{self.zone_id} until {self.expires_on}"


class ZoneProtection(models.Model):
    """The window in force of a zone and pest group: maintained with every record, never summed."""

    zone = models.ForeignKey("sites.TreatableZone", on_delete=models.CASCADE, related_name="+")
    pest_group = models.CharField(max_length=16, choices=choices(PEST_GROUP_WORDS))
    window = models.ForeignKey(ResidualWindow, on_delete=models.CASCADE, related_name="+")
    counts = models.BooleanField(default=True)
    expires_on = models.DateField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["zone", "pest_group"], name="protection_once"),
        )
        indexes = (models.Index(fields=["counts", "expires_on"], name="protection_expiry"),)

    def __str__(self) -> str:
        return f"Zone {self.zone_id} until {self.expires_on}"


GUARDS = (
    # a batch may be undone, what it says never changes
    Guard("treatments_historictreatment", delete_when="", keys=(("zone_id", "applied_on"),)),
    Guard(
        "treatments_residualwindow",
        delete_when="OLD.treated_area_id IS NOT NULL",
        keys=(("treated_area_id", "pest_group"), ("historic_id", "pest_group")),
    ),
)
