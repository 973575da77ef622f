"""What product is put out with, and what it was measured to put out."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.urls import reverse

from accounts.stamps import Stamped
from sites.rules.branch_units import US
from sites.rules.places import choices
from sites.rules.units import Amount
from treatments.rules.calibration import EQUIPMENT_WORDS, MEASURING_WORDS


class Equipment(Stamped):
    """One sprayer, spreader or duster of a branch as it is used: tank, nozzle, pressure.

    The tank stays as entered in `tank_unit`, and as whole `tank_ul`; `tank_gal` is the same in
    gallons, and all there is of what was entered before units were kept.
    """

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=choices(EQUIPMENT_WORDS))
    tank_gal = models.DecimalField(max_digits=8, decimal_places=3)
    tank_entered = models.CharField(max_length=20, blank=True)
    tank_unit = models.CharField(max_length=8, default="gal")
    tank_ul = models.BigIntegerField(null=True)
    nozzle = models.CharField(max_length=80, blank=True)
    pressure_psi = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ("branch", "name")
        verbose_name_plural = "equipment"
        constraints = (
            models.UniqueConstraint(fields=["branch", "name"], name="equipment_name_once"),
        )

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("equipment_one", args=[self.pk])

    @property
    def tank(self) -> Amount:
        """What the tank holds, as entered."""
        if not self.tank_entered:
            return Amount(Decimal(self.tank_gal), "gal")
        return Amount(Decimal(self.tank_entered), self.tank_unit)


class Calibration(Stamped):
    """One measurement of an output; the latest counts, earlier ones stay as they were.

    As entered in `units`: `caught` is gallons (liters) over a plot, fluid ounces of a 1/128 acre
    plot or milliliters of a timed flow; `over` is the square feet (m2) of the plot or the seconds
    caught; `sq_ft_a_minute` how fast somebody walks with a timed flow, in the same units of area.
    `caught_ul` and `over_mm2` are the same in whole canonical units.
    """

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="calibrations")
    measured_on = models.DateField()
    measuring = models.CharField(max_length=12, choices=choices(MEASURING_WORDS))
    caught = models.DecimalField(max_digits=10, decimal_places=3)
    over = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    sq_ft_a_minute = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    units = models.CharField(max_length=8, default=US)
    caught_ul = models.BigIntegerField(null=True)
    over_mm2 = models.BigIntegerField(null=True)
    gallons_per_1000 = models.DecimalField(max_digits=9, decimal_places=4)
    nozzle = models.CharField(max_length=80, blank=True)
    pressure_psi = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ("-measured_on", "-pk")

    def __str__(self) -> str:
        return f"{self.gallons_per_1000.normalize():f} gal per 1,000 sq ft"
