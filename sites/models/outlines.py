"""The sheet of a structure's walls and the water near it: what the plan is drawn from."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from accounts.stamps import Stamped
from sites.models.places import Property

UNITS = [("ft", "ft"), ("m", "m")]


class OutlineWall(models.Model):
    """One straight wall of a property's structure, in walking order.

    `length` and `heading` are as typed, in `length_unit` and in degrees, a compass point or a
    turn; `heading_tenths` is the compass heading in tenths of a degree. The zones of a property
    name walls by the names of their runs.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="walls")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    length_unit = models.CharField(max_length=2, choices=UNITS)
    length = models.CharField(max_length=20)
    length_mm = models.BigIntegerField()
    heading = models.CharField(max_length=20)
    heading_tenths = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("property", "position")
        constraints = (
            models.UniqueConstraint(fields=["property", "name"], name="wall_name_once"),
            models.CheckConstraint(
                condition=Q(length_mm__gt=0, heading_tenths__lt=3_600),
                name="wall_has_length_and_heading",
            ),
        )

    def __str__(self) -> str:
        return self.name


class WaterFeature(Stamped):
    """A pond, stream or well on the plan: from which wall, how far along it and away, how large.

    Lengths are decimal text in `length_unit` and whole mm. The wall is kept by its name, so that
    the sheet can be typed anew.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="waters")
    name = models.CharField(max_length=60)
    wall = models.CharField(max_length=60)
    length_unit = models.CharField(max_length=2, choices=UNITS)
    along = models.CharField(max_length=20)
    away = models.CharField(max_length=20)
    across = models.CharField(max_length=20)
    deep = models.CharField(max_length=20)
    along_mm = models.BigIntegerField()
    away_mm = models.BigIntegerField()
    across_mm = models.BigIntegerField()
    deep_mm = models.BigIntegerField()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(along_mm__gte=0, away_mm__gte=0, across_mm__gt=0, deep_mm__gt=0),
                name="water_has_a_size",
            ),
        )

    def __str__(self) -> str:
        return self.name
