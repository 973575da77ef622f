"""What the label sheets show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects
from django.http import Http404

from sites.rules.units import plain
from sites.selectors.pests import pests
from treatments.models import (
    LabelFile,
    LabelLimit,
    LabelProtection,
    LabelUse,
    LabelVerification,
    LabelVersion,
    LabelWithdrawal,
    Product,
    ProductIngredient,
)
from treatments.rules.label_entry import NewLabel, missing_pages
from treatments.rules.label_lines import Line, lines
from treatments.rules.label_refusals import WITHOUT_INGREDIENT
from treatments.rules.products import RateBasis
from treatments.rules.rate_choices import RATE_CHOICE_WORDS, RateChoice, rate_choices
from treatments.rules.rates import Rate
from treatments.selectors.label_copies import as_entered
from treatments.selectors.labels import (
    LOCKED,
    firm_rate_of,
    is_product_settled,
    is_used,
    labels_in_force,
    why_locked,
)
from treatments.selectors.withdrawals import Withdrawal, ended_by, withdrawal_words


@dataclass(frozen=True)
class VersionRow:
    """A label and how it stands: `state` is draft, in_force, coming, superseded or withdrawn.

    `seen` says whether a second person verified it, or only who entered it in a one-person firm.
    """

    version: LabelVersion
    state: str
    word: str
    seen: str


@dataclass(frozen=True)
class LabelPage:
    """One label with its facts, who verified it and what may still be done."""

    row: VersionRow
    ingredients: list[str]
    parts: dict[str, list[Line]]
    files: list[LabelFile]
    uses: list[LabelUse]
    limits: list[LabelLimit]
    protections: list[LabelProtection]
    verified_by: list[str]
    verifiers: list[int | None]
    is_second_wanted: bool
    locked: str
    to_do: list[str]
    is_used: bool
    older_pk: int | None
    proposed: list[tuple[LabelUse, str]]
    withdrawal: Withdrawal

    @property
    def is_editable(self) -> bool:
        return not self.locked


@dataclass(frozen=True)
class IngredientLine:
    """An active ingredient of a product in words; numbers as printed."""

    pk: int
    name: str
    group: str
    percent: str
    pounds: str


@dataclass(frozen=True)
class ProductPage:
    """One product with its labels; `is_settled` once a label of it was verified or used."""

    product: Product
    ingredients: list[IngredientLine]
    rows: list[VersionRow]
    is_settled: bool


STATE_WORDS = {
    "draft": "Being entered",
    "in_force": "In force",
    "coming": "Not begun",
    "superseded": "Superseded",
    "withdrawn": "Withdrawn",
}


def label_rows(today: date) -> list[tuple[Product, list[VersionRow]]]:
    """Every product with its labels, newest first; a fixed few queries."""
    in_force = set(labels_in_force(today).values_list("pk", flat=True))
    found = Product.objects.prefetch_related(
        "labels__verifications", "labels__withdrawals", "ingredients__ingredient"
    )
    return [
        (product, [_row(version, today, in_force) for version in product.labels.all()])
        for product in found
    ]


def _row(version: LabelVersion, today: date, in_force: set[int]) -> VersionRow:
    state = _state(version, today, in_force)
    verified = list(version.verifications.all())
    seen = "Not verified" if not verified else "One-person firm"
    if not all(one.is_one_person_firm for one in verified):
        seen = "Verified"
    return VersionRow(version, state, STATE_WORDS[state], seen)


def _state(version: LabelVersion, today: date, in_force: set[int]) -> str:
    if version.is_draft:
        return "draft"
    if version.pk in in_force:
        return "in_force"
    if version.effective_on > today:
        return "coming"
    return "withdrawn" if ended_by(version, today) else "superseded"


def product_page(pk: int, today: date) -> ProductPage:
    """One product with its ingredients and labels; Http404 when there is none."""
    product = product_for(pk)
    in_force = set(labels_in_force(today).values_list("pk", flat=True))
    labels = product.labels.prefetch_related("verifications", "withdrawals")
    rows = product.ingredients.select_related("ingredient")
    return ProductPage(
        product=product,
        ingredients=[_ingredient(row) for row in rows.order_by("pk")],
        rows=[_row(version, today, in_force) for version in labels],
        is_settled=is_product_settled(pk),
    )


def _ingredient(row: ProductIngredient) -> IngredientLine:
    return IngredientLine(
        pk=row.pk,
        name=row.ingredient.common_name,
        group=row.ingredient.group_words,
        percent=plain(row.percent_by_weight),
        pounds="" if row.pounds_per_gallon is None else plain(row.pounds_per_gallon),
    )


def _ingredient_words(row: ProductIngredient) -> str:
    """Demothrin 7.9 %, IRAC group 3A (scheme 11.3)."""
    group = row.ingredient.group_words
    return f"{row}, IRAC group {group}" if group else str(row)


def product_for(pk: int) -> Product:
    """One product; Http404 when there is none."""
    row: Product = _found(Product.objects.all(), pk)
    return row


def ingredient_row(pk: int) -> ProductIngredient:
    """One active ingredient of any product; Http404 when there is none."""
    rows = ProductIngredient.objects.select_related("ingredient", "product")
    row: ProductIngredient = _found(rows, pk)
    return row


def version_for(pk: int) -> LabelVersion:
    """One label; Http404 when there is none."""
    row: LabelVersion = _found(LabelVersion.objects.select_related("product"), pk)
    return row


def direction_row(pk: int) -> LabelUse:
    """One direction of any label; Http404 when there is none."""
    row: LabelUse = _found(
        LabelUse.objects.select_related("label_version__product", "firm_rate"), pk
    )
    return row


def limit_row(pk: int) -> LabelLimit:
    """One limit of any label; Http404 when there is none."""
    row: LabelLimit = _found(LabelLimit.objects.select_related("label_version__product"), pk)
    return row


def protection_row(pk: int) -> LabelProtection:
    """One piece of protective equipment of any label; Http404 when there is none."""
    rows = LabelProtection.objects.select_related("label_version__product")
    row: LabelProtection = _found(rows, pk)
    return row


def file_for(label_version_id: int, kind: str) -> LabelFile:
    """The PDF of a label; Http404 when none is attached."""
    files = LabelFile.objects.filter(label_version=version_for(label_version_id), kind=kind)
    found = files.first()
    if found is None:
        raise Http404
    return found


def _found(rows: Any, pk: int) -> Any:
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Http404
    return row


def label_page(pk: int, today: date) -> LabelPage:
    """Everything the sheet of one label shows."""
    version = version_for(pk)
    entered = as_entered(version)
    withdrawals = LabelWithdrawal.objects.select_related("created_by")
    prefetch_related_objects([version], Prefetch("withdrawals", withdrawals))
    in_force = set(labels_in_force(today).values_list("pk", flat=True))
    row = _row(version, today, in_force)
    used = is_used([version.pk])
    older = LabelVersion.objects.filter(
        product=version.product_id, effective_on__lt=version.effective_on
    ).first()
    seen = list(version.verifications.select_related("created_by"))
    directions = list(version.uses.select_related("firm_rate"))
    contents = list(version.product.ingredients.select_related("ingredient"))
    return LabelPage(
        row=row,
        ingredients=[_ingredient_words(one) for one in contents],
        parts=_parts(entered),
        files=list(version.files.defer("content")),
        uses=directions,
        limits=list(version.limits.all()),
        protections=list(version.protections.all()),
        verified_by=[_seen_by(one) for one in seen],
        verifiers=[one.created_by_id for one in seen],
        is_second_wanted=all(one.is_one_person_firm for one in seen),
        locked=LOCKED.get(why_locked(version, today, used), ""),
        to_do=_to_do(version.product, entered, has_ingredient=bool(contents)),
        is_used=used,
        older_pk=older.pk if older else None,
        proposed=[(use, proposed_rate(use)) for use in directions if has_a_choice(use)],
        withdrawal=withdrawal_words(version),
    )


def has_a_choice(use: LabelUse) -> bool:
    """Whether the firm chooses which rate of a direction is proposed."""
    return RateChoice.MIDDLE in rate_choices(use.rate_min, use.rate_max)


def proposed_rate(use: LabelUse) -> str:
    """Middle rate, 0.75 fl oz per 1,000 sq ft."""
    choice = RateChoice(firm_rate_of(use))
    value = rate_choices(use.rate_min, use.rate_max)[choice]
    rate = Rate.of(RateBasis(use.rate_basis), value, use.rate_unit)
    return f"{RATE_CHOICE_WORDS[choice]}, {rate.words}"


def _seen_by(one: LabelVerification) -> str:
    name = one.created_by.full_name if one.created_by else "the system"
    return f"{name} (one-person firm)" if one.is_one_person_firm else name


def _to_do(product: Product, entered: NewLabel, *, has_ingredient: bool) -> list[str]:
    """What is missing before the label is complete and can be verified, each a sentence."""
    missing = missing_pages(entered)
    sentences = {
        "No direction for use is entered yet.": bool(entered.directions),
        "No active ingredient of the product is entered yet.": has_ingredient
        or product.registration_kind in WITHOUT_INGREDIENT,
        f"The page is missing for: {', '.join(missing).lower()}.": not missing,
    }
    return [sentence for sentence, is_there in sentences.items() if not is_there]


def printed_lines(version: LabelVersion) -> tuple[Line, ...]:
    """Every fact of a label with its page."""
    return _lines(as_entered(version))


def _lines(entered: NewLabel) -> tuple[Line, ...]:
    return lines(entered, {pest.pk: pest.common_name for pest in pests()})


def _parts(entered: NewLabel) -> dict[str, list[Line]]:
    parts: dict[str, list[Line]] = {}
    for line in _lines(entered):
        parts.setdefault(line.part, []).append(line)
    return parts
