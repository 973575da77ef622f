"""Where the work is: properties, their units, what to watch for, and the zones one treats."""

from __future__ import annotations

from decimal import Decimal

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.stamps import Stamped
from sites.rules.places import (
    CAUTION_WORDS,
    CORNERS_WORDS,
    EXPOSURE_WORDS,
    GEOMETRY_WORDS,
    PLACE_WORDS,
    PREFERENCE_WORDS,
    SITE_WORDS,
    SURFACE_WORDS,
    Corners,
    Exposure,
    Geometry,
    Surface,
    choices,
)


class Property(Stamped):
    """One service address of one customer."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    customer = models.ForeignKey("accounts.Customer", on_delete=models.PROTECT, related_name="+")
    street = models.CharField(max_length=200)
    city = models.CharField("Municipality", max_length=100)
    county = models.CharField(max_length=100, blank=True)
    state = models.CharField(max_length=2)
    zip_code = models.CharField("ZIP code", max_length=10)
    address_key = models.CharField(max_length=400, editable=False)
    latitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    longitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    structure = models.CharField(max_length=200, blank=True, help_text="Brick on slab, 1987")
    site_kind = models.CharField(
        "Kind of site", max_length=12, choices=choices(SITE_WORDS), blank=True
    )
    water_distance_ft = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)
    water_measured_by = models.CharField(max_length=120, blank=True)
    water_measured_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("street", "pk")
        verbose_name_plural = "properties"
        constraints = (
            models.CheckConstraint(
                condition=Q(
                    water_distance_ft__isnull=True,
                    water_measured_on__isnull=True,
                    water_measured_by="",
                )
                | Q(water_distance_ft__gte=0, water_measured_on__isnull=False)
                & ~Q(water_measured_by=""),
                name="water_is_measured_by_somebody",
            ),
            models.UniqueConstraint(
                fields=["customer", "address_key"], name="property_once_a_customer"
            ),
        )
        indexes = (models.Index(fields=["address_key"], name="property_address"),)

    def __str__(self) -> str:
        return f"{self.street}, {self.city}"

    def get_absolute_url(self) -> str:
        return reverse("property", args=[self.pk])

    @property
    def address(self) -> str:
        return f"{self.street}, {self.city}, {self.state} {self.zip_code}"


class PropertyAccess(Stamped):
    """How one gets in: shown only on the day, only to who goes there."""

    property = models.OneToOneField(Property, on_delete=models.CASCADE, related_name="access")
    gate_code = models.CharField(max_length=40, blank=True)
    lock_box = models.CharField(max_length=40, blank=True)
    key_tag = models.CharField(max_length=40, blank=True)
    parking = models.CharField(max_length=200, blank=True)
    ask_for = models.CharField("Who to ask", max_length=120, blank=True)
    notes = models.TextField(max_length=1000, blank=True)

    def __str__(self) -> str:
        return f"Access to {self.property}"


class Unit(Stamped):
    """An apartment or suite of a property."""

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="units")
    number = models.CharField(max_length=20)
    floor = models.CharField(max_length=20, blank=True)
    is_occupied = models.BooleanField(default=True)
    occupant = models.ForeignKey(
        "accounts.Contact", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ("number",)
        constraints = (
            models.UniqueConstraint(fields=["property", "number"], name="unit_number_once"),
        )

    def __str__(self) -> str:
        return f"Unit {self.number}"


class Preference(Stamped):
    """What the customer asked for; a hard one is judged like a label rule."""

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="preferences")
    unit = models.ForeignKey(
        Unit, on_delete=models.CASCADE, null=True, blank=True, related_name="preferences"
    )
    kind = models.CharField(max_length=24, choices=choices(PREFERENCE_WORDS))
    is_hard = models.BooleanField("The customer insists", default=True)
    note = models.CharField(max_length=200, blank=True)
    said_by = models.CharField(max_length=120)
    said_on = models.DateField()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} ({self.said_by}, {self.said_on})"


class SiteCaution(Stamped):
    """Something to watch at the property: a dog, a pond, hives, a well."""

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="cautions")
    kind = models.CharField(max_length=24, choices=choices(CAUTION_WORDS))
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.get_kind_display()


class TreatableZone(Stamped):
    """One treatable part of a property; its size is kept as entered and as whole units.

    `wall_run`, `height_up`, `width_out` are decimal text in `length_unit`; the `_mm` columns and
    `area_mm2` are the same in integer canonical units, for sums. `corner_factor` is how many out²
    the corners of its own walls add; empty where the walls are not known.
    """

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="zones")
    name = models.CharField(max_length=80)
    place = models.CharField(max_length=24, choices=choices(PLACE_WORDS))
    geometry = models.CharField(
        max_length=8, choices=choices(GEOMETRY_WORDS), default=Geometry.BAND
    )
    corners = models.CharField(max_length=8, choices=choices(CORNERS_WORDS), default=Corners.SIMPLE)
    corner_factor = models.CharField(max_length=20, blank=True)
    length_unit = models.CharField(max_length=2, choices=[("ft", "ft"), ("m", "m")], default="ft")
    wall_run = models.CharField(max_length=20)
    height_up = models.CharField(max_length=20, default="0")
    width_out = models.CharField(max_length=20, default="0")
    wall_run_mm = models.BigIntegerField()
    height_up_mm = models.BigIntegerField(default=0)
    width_out_mm = models.BigIntegerField(default=0)
    area_mm2 = models.BigIntegerField(default=0)
    surface = models.CharField(
        max_length=16, choices=choices(SURFACE_WORDS), default=Surface.PAINTED
    )
    exposure = models.CharField(
        max_length=12, choices=choices(EXPOSURE_WORDS), default=Exposure.SHADED
    )
    is_rain_protected = models.BooleanField("Protected from rain", default=False)
    is_over_impervious = models.BooleanField("Over concrete or asphalt", default=False)
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["property", "name"], name="zone_name_once"),
            models.CheckConstraint(condition=Q(wall_run_mm__gte=0), name="zone_run_not_negative"),
        )

    def __str__(self) -> str:
        return self.name

    def lengths(self) -> tuple[Decimal, Decimal, Decimal]:
        """Run, height up and width out as entered, in `length_unit`."""
        return Decimal(self.wall_run), Decimal(self.height_up), Decimal(self.width_out)
