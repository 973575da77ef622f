"""The named runs a zone along a wall is made of."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from sites.models.places import TreatableZone


class WallRun(models.Model):
    """One named part of a zone along a wall; all of them add up to the zone's run.

    `length` is decimal text in the zone's unit. A record keeps name and length as they were.
    """

    zone = models.ForeignKey(TreatableZone, on_delete=models.CASCADE, related_name="runs")
    name = models.CharField(max_length=60)
    length = models.CharField(max_length=20)
    length_mm = models.BigIntegerField()
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("zone", "position")
        constraints = (
            models.UniqueConstraint(fields=["zone", "name"], name="run_name_once_a_zone"),
            models.CheckConstraint(condition=Q(length_mm__gt=0), name="run_has_a_length"),
        )

    def __str__(self) -> str:
        return self.name
