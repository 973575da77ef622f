"""A tank mixed once and used at several stops, and what was done with what was left in it.

A record names its load by `ref`, as text; what was put out of a load is the sum of its records.
A load of two products holds the second in `LoadProduct`; its stops have a record of each.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from sites.rules.units import unit_word
from treatments.rules.loads import REST_WORDS


class Load(Stamped):
    """One mixing: product and finished spray as read, canonical and as entered.

    `use_within_hours` is frozen from the label on the day; empty where it does not say.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    technician = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, related_name="+")
    equipment = models.CharField(max_length=80, blank=True)
    sprayer = models.ForeignKey(
        "treatments.Equipment", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    label_version = models.ForeignKey(
        "treatments.LabelVersion", on_delete=models.PROTECT, related_name="+"
    )
    lot = models.ForeignKey(
        "treatments.ProductLot", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    product_amount = models.CharField(max_length=20)
    product_unit = models.CharField(max_length=8)
    product_ul = models.BigIntegerField(null=True)
    product_mg = models.BigIntegerField(null=True)
    finished_amount = models.CharField(max_length=20)
    finished_unit = models.CharField(max_length=8)
    finished_ul = models.BigIntegerField()
    mixed_at = models.DateTimeField()
    visit_ref = models.CharField(max_length=40, blank=True)
    use_within_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ("-mixed_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(product_ul__isnull=True) ^ Q(product_mg__isnull=True),
                name="load_product_has_one_measure",
            ),
            models.CheckConstraint(condition=Q(finished_ul__gt=0), name="load_is_not_empty"),
        )
        indexes = (models.Index(fields=["technician", "mixed_at"], name="load_of_technician"),)

    def __str__(self) -> str:
        amount = f"{self.product_amount} {unit_word(self.product_unit)}"
        return f"Load of {self.label_version.product}, {amount}"

    def get_absolute_url(self) -> str:
        return reverse("branch_load", args=[self.pk])

    @property
    def ref(self) -> str:
        """What a record names this load by."""
        return str(self.client_ref)

    @property
    def product(self) -> int:
        """Whole microliters or milligrams of undiluted product, whichever it is measured in."""
        return self.product_ul if self.product_ul is not None else self.product_mg or 0

    @property
    def products(self) -> tuple[Load | LoadProduct, ...]:
        """What is in the tank beside water, as it was named: the load's own product first."""
        return (self, *self.also.all())


class LoadProduct(Stamped):
    """Another product in the tank of a load, as read, canonical and as entered."""

    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="also")
    label_version = models.ForeignKey(
        "treatments.LabelVersion", on_delete=models.PROTECT, related_name="+"
    )
    lot = models.ForeignKey(
        "treatments.ProductLot", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    product_amount = models.CharField(max_length=20)
    product_unit = models.CharField(max_length=8)
    product_ul = models.BigIntegerField(null=True)
    product_mg = models.BigIntegerField(null=True)

    class Meta:
        ordering = ("load", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(product_ul__isnull=True) ^ Q(product_mg__isnull=True),
                name="load_also_has_one_measure",
            ),
            models.UniqueConstraint(fields=["load", "label_version"], name="load_also_once"),
        )

    def __str__(self) -> str:
        amount = f"{self.product_amount} {unit_word(self.product_unit)}"
        return f"Load of {self.label_version.product}, {amount}"

    def get_absolute_url(self) -> str:
        return self.load.get_absolute_url()

    @property
    def product(self) -> int:
        """Whole microliters or milligrams of undiluted product, whichever it is measured in."""
        return self.product_ul if self.product_ul is not None else self.product_mg or 0


class LoadRest(Stamped):
    """What was found in the tank after its last use so far, and what was done with it.

    `difference_ul` is how much more was found than the records of the load leave. `reason` is why
    a manager ended it for somebody else; `salt` hides the words of a rest in the log's leaf.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="rests")
    kind = models.CharField(max_length=10, choices=choices(REST_WORDS))
    amount = models.CharField(max_length=20)
    unit = models.CharField(max_length=8)
    ul = models.BigIntegerField()
    difference_ul = models.BigIntegerField()
    at = models.DateTimeField()
    visit_ref = models.CharField(max_length=40, blank=True)
    disposed_how = models.CharField(max_length=120, blank=True)
    disposed_where = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    salt = models.BinaryField(default=bytes)

    class Meta:
        ordering = ("at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(kind="none", ul=0) | (~Q(kind="none") & Q(ul__gt=0)),
                name="nothing_left_is_nothing",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.amount} {unit_word(self.unit)}"

    def get_absolute_url(self) -> str:
        return self.load.get_absolute_url()


GUARDS = (
    Guard("treatments_load", keys=(("client_ref",),)),
    Guard("treatments_loadproduct", keys=(("load_id", "label_version_id"),)),
    Guard("treatments_loadrest", keys=(("client_ref",),)),
)
