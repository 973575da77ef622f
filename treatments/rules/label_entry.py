"""A product and its label as somebody types them in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from treatments.rules.products import MixBasis, RateBasis, SignalWord


@dataclass(frozen=True)
class NewIngredient:
    """An active ingredient of a product: percent by weight, and lb per gallon of a liquid.

    `irac_scheme` is the version of the scheme that its group was read in.
    """

    common_name: str
    percent_by_weight: Decimal
    pounds_per_gallon: Decimal | None = None
    irac_group: str = ""
    irac_scheme: str = ""


@dataclass(frozen=True)
class NewProduct:
    """A product as registered; exempt products and devices have no number."""

    name: str
    registration_kind: str
    formulation: str
    registration_number: str = ""
    establishment_number: str = ""
    signal_word: str = SignalWord.CAUTION
    is_restricted_use: bool = False
    ingredients: tuple[NewIngredient, ...] = ()


@dataclass(frozen=True)
class NewDirection:
    """One direction for use; the rate is `rate_unit` of product on what `rate_basis` counts.

    Gallons are of finished spray on 1,000 sq ft: what it is put out in, the least, the most.
    """

    title: str
    places: tuple[str, ...]
    methods: tuple[str, ...]
    pest_ids: tuple[int, ...]
    rate_max: Decimal
    rate_unit: str
    page: str
    rate_basis: str = RateBasis.AREA
    rate_min: Decimal | None = None
    per_gallon: Decimal | None = None
    mix_basis: str = MixBasis.PER_FINISHED
    gallons_per_1000: Decimal | None = None
    min_gallons_per_1000: Decimal | None = None
    max_gallons_per_1000: Decimal | None = None
    residual_days: int | None = None
    min_interval_days: int = 0
    uses_per_year: int | None = None


@dataclass(frozen=True)
class NewPest:
    """A pest that a direction names and that is not on the list yet; none without a name."""

    common_name: str = ""
    group: str = ""


@dataclass(frozen=True)
class NewLimit:
    """One ceiling or condition; `direction` is a direction's title, empty for the whole label.

    `unit` is of product, and only for an amount of product in a year; `named` is what the row is
    about beside its fact: the product or ingredient kept out of a tank, a license category.
    """

    fact: str
    comparison: str
    limit: Decimal
    severity: str
    sentence: str
    page: str
    direction: str = ""
    unit: str = ""
    named: str = ""


@dataclass(frozen=True)
class NewProtection:
    """One piece of protective equipment for one task, with its page.

    `respirators` are the kinds of which any one will do, for what is worn to breathe through.
    """

    task: str
    item: str
    page: str
    respirators: tuple[str, ...] = ()


@dataclass(frozen=True)
class NewLabel:
    """One dated label of a product with everything that is read from it.

    `pages` names the page of each fact of FACTS_WITH_PAGE that the label has.
    """

    product_id: int
    label_date: date
    effective_on: date
    protective_equipment: str
    reentry_text: str
    precautions: str
    directions: tuple[NewDirection, ...]
    limits: tuple[NewLimit, ...] = ()
    protections: tuple[NewProtection, ...] = ()
    reentry_minutes: int | None = None
    only_listed_uses: bool = False
    prohibited_methods: tuple[str, ...] = ()
    safety_sheet_date: date | None = None
    first_aid: str = ""
    storage_and_disposal: str = ""
    pages: Mapping[str, str] = field(default_factory=dict)


FACTS_WITH_PAGE = {
    "protective_equipment": "Protective equipment",
    "reentry_text": "Re-entry",
    "precautions": "Precautions",
    "first_aid": "First aid",
    "storage_and_disposal": "Storage and disposal",
    "only_listed_uses": "Only listed uses",
    "prohibited_methods": "Prohibited methods",
}


def missing_pages(label: NewLabel) -> list[str]:
    """The facts of a label, in words, whose page is not written down yet."""
    return [
        words
        for name, words in FACTS_WITH_PAGE.items()
        if getattr(label, name) and not label.pages.get(name, "").strip()
    ]
