"""What product is put out with, and what it was measured to put out."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.rules.calibration import EQUIPMENT_WORDS, MEASURING_WORDS


class Equipment(Stamped):
    """One sprayer, spreader or duster of a branch as it is used: tank, nozzle, pressure."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=16, choices=choices(EQUIPMENT_WORDS))
    tank_gal = models.DecimalField(max_digits=8, decimal_places=3)
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


class Calibration(Stamped):
    """One measurement of an output; the latest counts, earlier ones stay as they were.

    `caught` is gallons over a plot, fluid ounces of a 1/128 acre plot or milliliters of a timed
    flow; `over` is the square feet of the plot or the seconds caught; `sq_ft_a_minute` how fast
    somebody walks with a timed flow.
    """

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="calibrations")
    measured_on = models.DateField()
    measuring = models.CharField(max_length=12, choices=choices(MEASURING_WORDS))
    caught = models.DecimalField(max_digits=10, decimal_places=3)
    over = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    sq_ft_a_minute = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    gallons_per_1000 = models.DecimalField(max_digits=9, decimal_places=4)
    nozzle = models.CharField(max_length=80, blank=True)
    pressure_psi = models.DecimalField(max_digits=6, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ("-measured_on", "-pk")

    def __str__(self) -> str:
        return f"{self.gallons_per_1000.normalize():f} gal per 1,000 sq ft"
