"""The weekly look at what a vehicle must carry."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.models.stock import StockPlace
from treatments.rules.vehicles import ITEM_WORDS


class VehicleCheck(Stamped):
    """One look at one vehicle: who, when, on which day at its branch; never changed."""

    vehicle = models.ForeignKey(StockPlace, on_delete=models.PROTECT, related_name="checks")
    checked_at = models.DateTimeField()
    checked_on = models.DateField()

    class Meta:
        ordering = ("-checked_at", "-pk")
        indexes = (models.Index(fields=["vehicle", "checked_at"], name="vehicle_checked_at"),)

    def __str__(self) -> str:
        return f"Check of {self.vehicle} on {self.checked_on}"


class VehicleCheckItem(models.Model):
    """One thing that belongs aboard, present or missing; a missing one with a note."""

    vehicle_check = models.ForeignKey(VehicleCheck, on_delete=models.PROTECT, related_name="items")
    item = models.CharField(max_length=16, choices=choices(ITEM_WORDS))
    is_present = models.BooleanField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["vehicle_check", "item"], name="item_once_a_check"),
            models.CheckConstraint(
                condition=models.Q(is_present=True) | ~models.Q(note=""),
                name="missing_item_has_a_note",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_item_display()}: {'present' if self.is_present else 'missing'}"


GUARDS = (
    Guard("treatments_vehiclecheck"),
    Guard("treatments_vehiclecheckitem", keys=(("vehicle_check_id", "item"),)),
)
