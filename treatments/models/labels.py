"""The label as data: products, label versions, directions for use, limits."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.rules.products import (
    FILE_KIND_WORDS,
    FORMULATION_WORDS,
    MIX_BASIS_WORDS,
    RATE_BASIS_WORDS,
    REGISTRATION_KIND_WORDS,
    SIGNAL_WORD_WORDS,
    TASK_WORDS,
    MixBasis,
    RateBasis,
    SignalWord,
)
from treatments.rules.protective_equipment import RESPIRATOR_WORDS


class ActiveIngredient(Stamped):
    """An active ingredient by its common name, with its resistance group."""

    common_name = models.CharField(max_length=80, unique=True)
    irac_group = models.CharField("IRAC group", max_length=8, blank=True)
    irac_scheme = models.CharField("IRAC scheme version", max_length=8, blank=True)

    class Meta:
        ordering = ("common_name",)

    def __str__(self) -> str:
        return self.common_name

    @property
    def group_words(self) -> str:
        """3A (scheme 11.3); empty where no group is entered. A later scheme may regroup."""
        scheme = f" (scheme {self.irac_scheme})" if self.irac_scheme else ""
        return f"{self.irac_group}{scheme}" if self.irac_group else ""


class Product(Stamped):
    """A product as registered; exempt products and devices have no number."""

    name = models.CharField(max_length=120, unique=True)
    registration_kind = models.CharField(max_length=16, choices=choices(REGISTRATION_KIND_WORDS))
    registration_number = models.CharField(max_length=40, blank=True)
    establishment_number = models.CharField("EPA Est.", max_length=40, blank=True)
    formulation = models.CharField(max_length=16, choices=choices(FORMULATION_WORDS))
    signal_word = models.CharField(
        max_length=16, choices=choices(SIGNAL_WORD_WORDS), default=SignalWord.CAUTION
    )
    is_restricted_use = models.BooleanField(default=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("product", args=[self.pk])


class ProductIngredient(Stamped):
    """How much of an active ingredient a product holds."""

    product = models.ForeignKey(Product, on_delete=models.CASCADE, related_name="ingredients")
    ingredient = models.ForeignKey(ActiveIngredient, on_delete=models.PROTECT, related_name="+")
    percent_by_weight = models.DecimalField(max_digits=9, decimal_places=5)
    pounds_per_gallon = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["product", "ingredient"], name="ingredient_once"),
        )

    def __str__(self) -> str:
        return f"{self.ingredient} {self.percent_by_weight.normalize():f} %"


class LabelVersion(Stamped):
    """One dated label of a product; from its first use on it never changes.

    A version ends where the next one's `effective_on` begins; a lot keeps its own label until
    that version is withdrawn (`LabelWithdrawal`). A draft is still being entered and is never in
    force; `pages` names the page of each fact that is not a row of its own.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="labels")
    label_date = models.DateField()
    effective_on = models.DateField()
    protective_equipment = models.TextField()
    reentry_text = models.TextField()
    reentry_minutes = models.PositiveIntegerField(null=True, blank=True)
    precautions = models.TextField()
    first_aid = models.TextField(blank=True)
    storage_and_disposal = models.TextField(blank=True)
    only_listed_uses = models.BooleanField(default=False)
    prohibited_methods = models.JSONField(default=list, blank=True)
    safety_sheet_date = models.DateField(null=True, blank=True)
    pages = models.JSONField(default=dict, blank=True)
    is_draft = models.BooleanField(default=False)

    class Meta:
        ordering = ("product", "-effective_on")
        constraints = (
            models.UniqueConstraint(fields=["product", "effective_on"], name="label_day_once"),
        )

    def __str__(self) -> str:
        return f"{self.product}, label of {self.label_date:%b} {self.label_date.year}"

    def get_absolute_url(self) -> str:
        return reverse("label", args=[self.pk])


class LabelVerification(Stamped):
    """A second person has compared the entered label with the printed one.

    `is_one_person_firm`: nobody else could, and who entered it looked again a day later.
    """

    label_version = models.ForeignKey(
        LabelVersion, on_delete=models.PROTECT, related_name="verifications"
    )
    verified_at = models.DateTimeField()
    is_one_person_firm = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.label_version} verified by {self.created_by}"


class LabelUse(Stamped):
    """One direction for use: places and methods and pests, its rate, its intervals, its page.

    Rates are `rate_unit` of undiluted product on the usual quantity of `rate_basis` (1,000 sq ft
    of treated area, 10 linear ft, one placement); `per_gallon` is the same direction said as
    product in one gallon of finished spray; `gallons_per_1000` is the spray it is put out in, and
    `min_gallons_per_1000`, `max_gallons_per_1000` what the label allows of it.
    """

    label_version = models.ForeignKey(LabelVersion, on_delete=models.PROTECT, related_name="uses")
    title = models.CharField(max_length=120)
    places = models.JSONField()
    methods = models.JSONField()
    pests = models.ManyToManyField("sites.Pest", related_name="+")
    rate_min = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    rate_max = models.DecimalField(max_digits=12, decimal_places=6)
    rate_unit = models.CharField(max_length=8)
    rate_basis = models.CharField(
        max_length=16, choices=choices(RATE_BASIS_WORDS), default=RateBasis.AREA
    )
    per_gallon = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)
    mix_basis = models.CharField(
        max_length=16, choices=choices(MIX_BASIS_WORDS), default=MixBasis.PER_FINISHED
    )
    gallons_per_1000 = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    min_gallons_per_1000 = models.DecimalField(
        max_digits=9, decimal_places=4, null=True, blank=True
    )
    max_gallons_per_1000 = models.DecimalField(
        max_digits=9, decimal_places=4, null=True, blank=True
    )
    residual_days = models.PositiveIntegerField(null=True, blank=True)
    min_interval_days = models.PositiveIntegerField(default=0)
    uses_per_year = models.PositiveIntegerField(null=True, blank=True)
    page = models.CharField(max_length=20)

    class Meta:
        ordering = ("label_version", "pk")

    def __str__(self) -> str:
        return self.title


class LabelLimit(Stamped):
    """One ceiling or condition of a label as a typed row, with its page.

    `unit` is of product and only for an amount of product in a year; every other fact has its own.
    `named` is the product or ingredient kept out of a tank, or a license category.
    """

    label_version = models.ForeignKey(LabelVersion, on_delete=models.PROTECT, related_name="limits")
    label_use = models.ForeignKey(
        LabelUse, on_delete=models.PROTECT, null=True, blank=True, related_name="limits"
    )
    fact = models.CharField(max_length=32)
    comparison = models.CharField(max_length=12)
    limit = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=8, blank=True)
    severity = models.CharField(max_length=12)
    sentence = models.CharField(max_length=300)
    named = models.CharField("Product, ingredient or category", max_length=80, blank=True)
    page = models.CharField(max_length=20)

    class Meta:
        ordering = ("label_version", "pk")

    def __str__(self) -> str:
        return self.sentence


class LabelProtection(Stamped):
    """One piece of protective equipment for one task, with its page.

    `respirators` are the kinds (RESPIRATOR_WORDS) of which any one will do.
    """

    label_version = models.ForeignKey(
        LabelVersion, on_delete=models.PROTECT, related_name="protections"
    )
    task = models.CharField(max_length=16, choices=choices(TASK_WORDS))
    item = models.CharField(max_length=120)
    page = models.CharField(max_length=20)
    respirators = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("label_version", "pk")

    def __str__(self) -> str:
        return f"{self.get_task_display()}: {self.item}"

    @property
    def respirator_words(self) -> str:
        """The kinds of respirator of which any one will do; empty for what is none."""
        return " or ".join(RESPIRATOR_WORDS[kind] for kind in self.respirators)


class LabelFile(Stamped):
    """The printed label or safety data sheet as a PDF, kept with the rows that were read from it.

    The bytes are in the database, so that one backup holds the label with its records and a file
    is only ever read through a permission check.
    """

    label_version = models.ForeignKey(LabelVersion, on_delete=models.PROTECT, related_name="files")
    kind = models.CharField(max_length=16, choices=choices(FILE_KIND_WORDS))
    name = models.CharField(max_length=120)
    content = models.BinaryField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["label_version", "kind"], name="label_file_once"),
        )

    def __str__(self) -> str:
        return self.name


def _used_by(rest: str) -> str:
    """A record was made by the label, or a tank mixed that is judged by it."""
    tables = ("treatments_applicationrecord", "treatments_load")
    return "(" + " OR ".join(f"EXISTS (SELECT 1 FROM {table} r {rest})" for table in tables) + ")"


_OF_LABEL = _used_by("WHERE r.label_version_id = {row}.{column}")
_OF_DIRECTION = _used_by(
    "JOIN treatments_labeluse u ON u.label_version_id = r.label_version_id "
    "WHERE u.id = {row}.{column}"
)
_OF_PRODUCT = _used_by(
    "JOIN treatments_labelversion v ON v.id = r.label_version_id "
    "WHERE v.product_id = {row}.{column}"
)


def _frozen_once_used(table: str, used: str, column: str, *, grows: bool = False) -> Guard:
    """Refuse changes of rows that a record relies on; `grows`: new rows beside them are fine."""
    old, new = (used.format(row=row, column=column) for row in ("OLD", "NEW"))
    return Guard(table, update_when=old, delete_when=old, insert_when="" if grows else new)


GUARDS = (
    _frozen_once_used("treatments_product", _OF_PRODUCT, "id", grows=True),
    _frozen_once_used("treatments_productingredient", _OF_PRODUCT, "product_id"),
    _frozen_once_used("treatments_labelversion", _OF_LABEL, "id", grows=True),
    _frozen_once_used("treatments_labeluse", _OF_LABEL, "label_version_id"),
    _frozen_once_used("treatments_labellimit", _OF_LABEL, "label_version_id"),
    _frozen_once_used("treatments_labelprotection", _OF_LABEL, "label_version_id"),
    _frozen_once_used("treatments_labelfile", _OF_LABEL, "label_version_id"),
    _frozen_once_used("treatments_labeluse_pests", _OF_DIRECTION, "labeluse_id"),
    Guard("treatments_labelverification"),
)
