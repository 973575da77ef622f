"""Where product is kept and every move of it: on hand is the sum of the moves, nothing else."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.rules.stock import MOVE_WORDS, PLACE_WORDS, MoveKind, PlaceKind


class StockPlace(Stamped):
    """A store or a vehicle of a branch; a vehicle may be the one of a technician.

    `technician_since` is when they took it over; empty: they drove it from the beginning.
    """

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=choices(PLACE_WORDS), default=PlaceKind.STORE)
    name = models.CharField(max_length=80)
    plate = models.CharField(max_length=16, blank=True)
    technician = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    technician_since = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("branch", "kind", "name")
        constraints = (
            models.UniqueConstraint(fields=["branch", "name"], name="stock_place_name_once"),
            models.UniqueConstraint(fields=["technician"], name="one_vehicle_a_technician"),
            models.CheckConstraint(
                condition=Q(kind="vehicle") | Q(technician__isnull=True, plate=""),
                name="only_a_vehicle_has_a_technician",
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} ({self.plate})" if self.plate else self.name

    def get_absolute_url(self) -> str:
        if self.kind == PlaceKind.VEHICLE:
            return reverse("vehicle", args=[self.pk])
        return reverse("stock")


class PastDriver(Stamped):
    """Who drove a vehicle before, from when until when; an empty `since` is the beginning."""

    place = models.ForeignKey(StockPlace, on_delete=models.PROTECT, related_name="past_drivers")
    technician = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, related_name="+")
    since = models.DateTimeField(null=True)
    until = models.DateTimeField()

    class Meta:
        ordering = ("until", "pk")
        indexes = (models.Index(fields=["technician", "until"], name="driver_until"),)

    def __str__(self) -> str:
        return f"{self.technician} drove {self.place} until {self.until:%b} {self.until.day}"


class ProductLot(Stamped):
    """Containers of one lot as they came, judged by the label on them for as long as it lasts."""

    label_version = models.ForeignKey(
        "treatments.LabelVersion", on_delete=models.PROTECT, related_name="+"
    )
    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    lot_number = models.CharField(max_length=40)
    container_size = models.CharField(max_length=20)
    container_unit = models.CharField(max_length=8)
    received_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True)
    dealer = models.CharField(max_length=120)
    invoice = models.CharField(max_length=60, blank=True)
    buyer = models.CharField(max_length=120, blank=True)
    buyer_license = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ("received_on", "pk")
        indexes = (models.Index(fields=["label_version", "received_on"], name="lot_first_in"),)

    def __str__(self) -> str:
        return f"Lot {self.lot_number} of {self.label_version.product}"

    def get_absolute_url(self) -> str:
        return reverse("lot", args=[self.pk])


class StockMove(Stamped):
    """One move of one lot; what was wrong is taken back by the opposite move, never changed.

    `ul` or `mg` go from `from_place` to `to_place`; below zero only in a count that found less
    (`adjust`) and in the opposite of another move (`corrects`). `amount` and `unit` stay as
    entered: of a count they are what was counted. `client_ref` names the form it came from, so that
    the same form sent again moves nothing twice; None for what no form asked for.
    """

    client_ref = models.UUIDField(null=True, unique=True)
    client_digest = models.CharField(max_length=64, blank=True)
    kind = models.CharField(max_length=8, choices=choices(MOVE_WORDS))
    lot = models.ForeignKey(ProductLot, on_delete=models.PROTECT, related_name="moves")
    from_place = models.ForeignKey(
        StockPlace, on_delete=models.PROTECT, null=True, related_name="+"
    )
    to_place = models.ForeignKey(StockPlace, on_delete=models.PROTECT, null=True, related_name="+")
    amount = models.CharField(max_length=20)
    unit = models.CharField(max_length=8)
    ul = models.BigIntegerField(null=True)
    mg = models.BigIntegerField(null=True)
    at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)
    disposed_how = models.CharField(max_length=120, blank=True)
    disposed_where = models.CharField(max_length=120, blank=True)
    record = models.ForeignKey(
        "treatments.ApplicationRecord", on_delete=models.PROTECT, null=True, related_name="+"
    )
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, related_name="corrected_by"
    )

    class Meta:
        ordering = ("at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(ul__isnull=True) ^ Q(mg__isnull=True), name="move_has_one_measure"
            ),
            models.CheckConstraint(
                condition=Q(kind="transfer", from_place__isnull=False, to_place__isnull=False)
                | Q(kind__in=("receive", "adjust"), from_place__isnull=True)
                & Q(to_place__isnull=False)
                | Q(kind__in=("use", "dispose"), to_place__isnull=True)
                & Q(from_place__isnull=False),
                name="move_has_its_places",
            ),
            models.CheckConstraint(
                condition=~Q(kind=MoveKind.USE) | Q(record__isnull=False),
                name="use_names_its_record",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.amount} {self.unit}"

    @property
    def quantity(self) -> int:
        """Whole microliters or milligrams, whichever the product is measured in."""
        return self.ul if self.ul is not None else self.mg or 0


class ReorderLevel(Stamped):
    """Below how much of a product a branch orders again."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    product = models.ForeignKey("treatments.Product", on_delete=models.CASCADE, related_name="+")
    amount = models.CharField(max_length=20)
    unit = models.CharField(max_length=8)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["branch", "product"], name="reorder_level_once"),
        )

    def __str__(self) -> str:
        return f"{self.product}: {self.amount} {self.unit}"


GUARDS = (
    Guard("treatments_productlot"),
    Guard("treatments_pastdriver"),
    Guard("treatments_stockmove", keys=(("corrects_id",), ("client_ref",))),
)
