"""The numbers of the season, and the weather that was read."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import F, Q

from accounts.append_only import Guard
from accounts.stamps import Stamped
from scheduling.rules.season import Reading
from scheduling.rules.season_settings import BY_CODE, SETTINGS, SettingRow

FAHRENHEIT_STEP = Decimal("1.8")


class SeasonRule(Stamped):
    """Another value of one number of the season from a day on; a later row takes its place."""

    code = models.CharField(max_length=20, choices=[(one.code, one.words) for one in SETTINGS])
    value = models.CharField(max_length=10)
    from_on = models.DateField()
    source = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{BY_CODE[self.code].words}: {self.value} from {self.from_on}"

    @property
    def row(self) -> SettingRow:
        """The row as the rules take it."""
        return SettingRow(self.code, self.value, self.from_on, self.source, self.pk)


class TemperatureReading(Stamped):
    """The weather of one day at one branch; read again, the day is written anew."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.CASCADE, related_name="+")
    day = models.DateField()
    low_c = models.DecimalField(max_digits=5, decimal_places=2)
    high_c = models.DecimalField(max_digits=5, decimal_places=2)
    cloud_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    rain_mm = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ("-day",)
        constraints = (
            models.UniqueConstraint(fields=["branch", "day"], name="one_reading_a_day"),
            models.CheckConstraint(condition=Q(low_c__lte=F("high_c")), name="low_under_high"),
        )

    def __str__(self) -> str:
        return f"{self.day}: {self.low_c} to {self.high_c} °C"

    @property
    def low_f(self) -> Decimal:
        return self.low_c * FAHRENHEIT_STEP + 32

    @property
    def high_f(self) -> Decimal:
        return self.high_c * FAHRENHEIT_STEP + 32

    @property
    def reading(self) -> Reading:
        """The day as the rules take it."""
        rain = None if self.rain_mm is None else float(self.rain_mm)
        return Reading(self.day, float(self.low_c), float(self.high_c), self.cloud_percent, rain)


SEASON_GUARDS = (Guard("scheduling_seasonrule"),)
