"""A label as somebody types it in, and what cannot stand on any label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.places import Place
from sites.rules.units import kind_of
from treatments.rules.products import Comparison, LimitFact, Method, MixBasis, RateBasis, Severity
from treatments.rules.residual import LONGEST_CLAIM


@dataclass(frozen=True)
class NewIngredient:
    """An active ingredient of a product: percent by weight, and lb per gallon of a liquid."""

    common_name: str
    percent_by_weight: Decimal
    pounds_per_gallon: Decimal | None = None
    irac_group: str = ""


@dataclass(frozen=True)
class NewDirection:
    """One direction for use; the rate is `rate_unit` of product on what `rate_basis` counts."""

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
    residual_days: int | None = None
    min_interval_days: int = 0
    uses_per_year: int | None = None


@dataclass(frozen=True)
class NewLimit:
    """One ceiling or condition; `direction` is a direction's title, empty for the whole label."""

    fact: str
    comparison: str
    limit: Decimal
    severity: str
    sentence: str
    page: str
    direction: str = ""


@dataclass(frozen=True)
class NewLabel:
    """One dated label of a product with everything that is read from it."""

    product_id: int
    label_date: date
    effective_on: date
    protective_equipment: str
    reentry_text: str
    precautions: str
    directions: tuple[NewDirection, ...]
    limits: tuple[NewLimit, ...] = ()
    reentry_minutes: int | None = None
    only_listed_uses: bool = False


def refuse_label(label: NewLabel) -> None:
    """Refuse a label without directions, with a text missing, or with a row that cannot be."""
    if not label.directions:
        raise _refused("A label needs at least one direction for use. Enter one.")
    for name in ("protective_equipment", "reentry_text", "precautions"):
        if not getattr(label, name).strip():
            raise _refused(f"The {name.replace('_', ' ')} is missing. Copy it from the label.")
    titles = {direction.title for direction in label.directions}
    if len(titles) < len(label.directions):
        raise _refused("Two directions have one title. Give each its own.")
    for direction in label.directions:
        refuse_direction(direction)
    for limit in label.limits:
        _refuse_limit(limit, titles)


def refuse_direction(direction: NewDirection) -> None:
    """Refuse an unknown place, method or unit, a rate of nothing, a claim no label makes."""
    kind_of(direction.rate_unit)
    _refuse_words("place", direction.places, list(Place))
    _refuse_words("method", direction.methods, list(Method))
    _refuse_words("basis of a rate", (direction.rate_basis,), list(RateBasis))
    if not direction.title.strip() or not direction.page.strip():
        raise _refused("A direction needs a title and the page it stands on.")
    if direction.rate_max <= 0 or (direction.rate_min or Decimal(1)) <= 0:
        raise _refused(f"The rate of {direction.title!r} must be above zero.")
    if direction.rate_min is not None and direction.rate_min > direction.rate_max:
        raise _refused(f"The lowest rate of {direction.title!r} is above the highest.")
    if not 0 <= (direction.residual_days or 0) <= LONGEST_CLAIM:
        raise _refused(f"A residual of {direction.residual_days} days is not on any label.")
    if not 0 <= direction.min_interval_days <= LONGEST_CLAIM:
        raise _refused(f"An interval of {direction.min_interval_days} days is not on any label.")


def _refuse_limit(limit: NewLimit, titles: set[str]) -> None:
    _refuse_words("limit", (limit.fact,), list(LimitFact))
    _refuse_words("comparison", (limit.comparison,), list(Comparison))
    _refuse_words("severity", (limit.severity,), list(Severity))
    if limit.direction and limit.direction not in titles:
        raise _refused(f"There is no direction {limit.direction[:40]!r} for the limit.")
    if limit.limit < 0:
        raise _refused("A limit is never below zero. Read it again.")


def _refuse_words(name: str, given: Iterable[str], known: list[str]) -> None:
    words = tuple(given)
    if not words:
        raise _refused(f"A direction needs at least one {name}.")
    for word in words:
        if word not in known:
            raise _refused(f"There is no {name} {word[:40]!r}. Use one of {', '.join(known)}.")


def _refused(sentence: str) -> Refused:
    return Refused("label", sentence)
