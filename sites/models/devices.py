"""Numbered devices of a property, what each check found, and when that is a matter."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.models.pests import Pest
from sites.rules.devices.words import EATEN_WORDS, KIND_WORDS, OUTCOME_WORDS, REMOVAL_WORDS
from sites.rules.places import choices


class Device(Stamped):
    """One numbered station, trap or monitor; its number is never used again at the property.

    `wall` and `offset_mm`, or `x_mm` and `y_mm`, say where on the plan; `turn` orders the round;
    `holds` names the product in it as text.
    """

    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="devices")
    zone = models.ForeignKey(
        "sites.TreatableZone", on_delete=models.PROTECT, null=True, related_name="+"
    )
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16, choices=choices(KIND_WORDS))
    place = models.CharField(max_length=120)
    wall = models.CharField(max_length=60, blank=True)
    offset_mm = models.BigIntegerField(null=True)
    x_mm = models.BigIntegerField(null=True)
    y_mm = models.BigIntegerField(null=True)
    turn = models.PositiveSmallIntegerField()
    placed_on = models.DateField()
    holds = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("turn", "number")
        constraints = (
            models.UniqueConstraint(fields=["property", "number"], name="device_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="device_number_from_one"),
        )

    def __str__(self) -> str:
        return f"Device {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("device", args=[self.pk])


class DeviceRemoval(models.Model):
    """A device was taken away, and why; its number stays its own."""

    device = models.OneToOneField(Device, on_delete=models.PROTECT, related_name="removal")
    removed_on = models.DateField()
    reason = models.CharField(max_length=12, choices=choices(REMOVAL_WORDS))
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.device} removed on {self.removed_on}"


class DeviceCheck(models.Model):
    """What was found at a device once; never changed, a later check stands beside it.

    `eaten` are quarters of the bait; `added_*` say pieces, amount of one and lot of bait put in,
    `added_ref` names the product's label as text; `visit_ref` names the visit as text.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="checks")
    outcome = models.CharField(max_length=12, choices=choices(OUTCOME_WORDS))
    eaten = models.PositiveSmallIntegerField(null=True, choices=list(EATEN_WORDS.items()))
    spoiled = models.PositiveSmallIntegerField(default=0)
    removed = models.PositiveSmallIntegerField(default=0)
    added_pieces = models.PositiveSmallIntegerField(default=0)
    added_each = models.CharField(max_length=20, blank=True)
    added_unit = models.CharField(max_length=8, blank=True)
    added_ref = models.CharField(max_length=40, blank=True)
    added_product = models.CharField(max_length=120, blank=True)
    added_lot = models.CharField(max_length=60, blank=True)
    is_damaged = models.BooleanField(default=False)
    note = models.CharField(max_length=400, blank=True)
    visit_ref = models.CharField(max_length=40, blank=True)
    captured_at = models.DateTimeField()
    received_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("-captured_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(eaten__isnull=True) | Q(eaten__lte=4), name="bait_eaten_in_quarters"
            ),
            models.CheckConstraint(
                condition=Q(added_pieces=0, added_ref="")
                | Q(added_pieces__gt=0) & ~Q(added_ref=""),
                name="bait_added_is_whole",
            ),
        )
        indexes = (
            models.Index(fields=["device", "captured_at"], name="device_check_device"),
            models.Index(fields=["visit_ref"], name="device_check_visit"),
        )

    def __str__(self) -> str:
        return f"{self.device}: {self.get_outcome_display()}"


class DeviceCount(models.Model):
    """How many of one pest a check found; the name as it was then."""

    check_of = models.ForeignKey(DeviceCheck, on_delete=models.PROTECT, related_name="counts")
    pest = models.ForeignKey(Pest, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["check_of", "pest"], name="pest_counted_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="pest_count_from_one"),
        )

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class DeviceThreshold(Stamped):
    """From what a device of a kind at a property is over; without a pest it holds for every one."""

    property = models.ForeignKey("sites.Property", on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=16, choices=choices(KIND_WORDS))
    pest = models.ForeignKey(Pest, on_delete=models.PROTECT, null=True, related_name="+")
    count_from = models.PositiveSmallIntegerField(null=True)
    eaten_from = models.PositiveSmallIntegerField(null=True, choices=list(EATEN_WORDS.items()))

    class Meta:
        ordering = ("kind", "pk")
        constraints = (
            models.UniqueConstraint(fields=["property", "kind", "pest"], name="threshold_once"),
            models.UniqueConstraint(
                fields=["property", "kind"],
                condition=Q(pest__isnull=True),
                name="threshold_of_every_pest_once",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.pest or 'every pest'}"


GUARDS = (
    Guard("sites_deviceremoval", keys=(("device_id",),)),
    Guard("sites_devicecheck", keys=(("client_ref",),)),
    Guard("sites_devicecount", keys=(("check_of_id", "pest_id"),)),
)
