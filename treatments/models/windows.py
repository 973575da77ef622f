"""How long it holds: windows made once, and the protection derived from them."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import Q

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import EXPOSURE_WORDS, PEST_GROUP_WORDS, SURFACE_WORDS, choices
from treatments.rules.products import FORMULATION_WORDS
from treatments.rules.residual_factors import (
    FACTOR_WORDS,
    FactorRow,
    days_sentence,
    factor_words,
    set_by_office,
)


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

    @property
    def override(self) -> WindowOverride | None:
        """What the office said last instead of the days; fetch `overrides` with a list."""
        return max(self.overrides.all(), key=lambda one: one.pk, default=None)

    @property
    def held_days(self) -> int:
        return self.override.days if self.override else self.days

    @property
    def lapses_on(self) -> date:
        """The day it lapses, by the office's word where there is one."""
        return self.override.expires_on if self.override else self.expires_on

    @property
    def why(self) -> str:
        """What shortened the claim, or why the office said another number; often nothing."""
        return set_by_office(self.override.reason) if self.override else factor_words(self.factors)

    @property
    def sentence(self) -> str:
        """The days explained."""
        return days_sentence(self.claim_days, self.held_days, self.why)


class WindowOverride(Stamped):
    """Another number of days of one window, by the office with a reason; the last one counts."""

    window = models.ForeignKey(ResidualWindow, on_delete=models.CASCADE, related_name="overrides")
    days = models.PositiveIntegerField()
    expires_on = models.DateField()
    reason = models.CharField(max_length=300)

    def __str__(self) -> str:
        return f"{self.days} days: {self.reason}"


class ResidualFactor(Stamped):
    """One factor that shortens label claims from a day on; a later row takes its place."""

    kind = models.CharField(max_length=8, choices=choices(FACTOR_WORDS))
    ingredient = models.CharField(max_length=120, blank=True)
    formulation = models.CharField(max_length=16, choices=choices(FORMULATION_WORDS), blank=True)
    surface = models.CharField(max_length=16, choices=choices(SURFACE_WORDS), blank=True)
    exposure = models.CharField(max_length=12, choices=choices(EXPOSURE_WORDS), blank=True)
    first_month = models.PositiveSmallIntegerField(default=1)
    last_month = models.PositiveSmallIntegerField(default=12)
    factor = models.DecimalField(max_digits=4, decimal_places=3)
    from_on = models.DateField()
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(factor__gte=0, factor__lte=1), name="factor_never_lengthens"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.factor} from {self.from_on}"

    @property
    def row(self) -> FactorRow:
        """The row as the rules take it."""
        names = FactorRow.__dataclass_fields__
        return FactorRow(**{name: getattr(self, name) for name in names})


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


OF_A_RECORD = (
    "EXISTS (SELECT 1 FROM treatments_residualwindow w "
    "WHERE w.id = OLD.window_id AND w.treated_area_id IS NOT NULL)"
)
GUARDS = (
    # a batch may be undone, what it says never changes
    Guard("treatments_historictreatment", delete_when="", keys=(("zone_id", "applied_on"),)),
    Guard(
        "treatments_residualwindow",
        delete_when="OLD.treated_area_id IS NOT NULL",
        keys=(("treated_area_id", "pest_group"), ("historic_id", "pest_group")),
    ),
    # a batch that is undone takes its windows and what was said of them along
    Guard("treatments_windowoverride", delete_when=OF_A_RECORD),
    Guard("treatments_residualfactor"),
)
