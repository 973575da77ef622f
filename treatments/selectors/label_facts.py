"""A direction's rows in the words of the label check."""

from __future__ import annotations

from decimal import Decimal

from accounts.rules.day_words import short_day
from sites.rules.places import Place
from treatments.models import LabelLimit as LimitRow
from treatments.models import LabelUse
from treatments.rules.label_checks import LabelFacts, LabelLimit
from treatments.rules.products import (
    Comparison,
    Formulation,
    LimitFact,
    Method,
    RateBasis,
    Severity,
)
from treatments.rules.rates import Rate
from treatments.selectors.wearing import protection_rows
from treatments.selectors.withdrawals import withdrawal_of


def label_facts(use: LabelUse) -> LabelFacts:
    """What one direction says; give it with label, product, limits and so on prefetched."""
    label = use.label_version
    withdrawn = withdrawal_of(label)
    return LabelFacts(
        product_name=label.product.name,
        number=label.product.registration_number,
        clause=clause_of(use, use.page),
        places=frozenset(Place(place) for place in use.places),
        methods=frozenset(Method(method) for method in use.methods),
        pests=frozenset(pest.common_name for pest in use.pests.all()),
        prohibited_methods=frozenset(Method(method) for method in label.prohibited_methods),
        only_these=label.only_listed_uses,
        rate_min=_rate(use, use.rate_min),
        rate_max=_rate(use, use.rate_max),
        min_finished_gal=use.min_gallons_per_1000,
        max_finished_gal=use.max_gallons_per_1000,
        min_interval_days=use.min_interval_days or None,
        uses_per_year=use.uses_per_year,
        limits=tuple(
            _limit(row, use) for row in label.limits.all() if row.label_use_id in (None, use.pk)
        ),
        effective_on=label.effective_on,
        not_to_be_used_after=withdrawn.not_to_be_used_after if withdrawn else None,
        withdrawn_because=withdrawn.reason if withdrawn else "",
        is_restricted_use=label.product.is_restricted_use,
        is_verified=bool(label.verifications.all()),
        formulation=Formulation(label.product.formulation) if label.product.formulation else None,
        protections=protection_rows(use),
    )


def rate_of(use: LabelUse) -> Rate:
    """The most of the direction, on what it counts: area, length, placements, space."""
    return Rate.of(RateBasis(use.rate_basis), use.rate_max, use.rate_unit)


def clause_of(use: LabelUse, page: str) -> str:
    """Which label and page: Demonstration A SC, label of Jan 5, 2026, p. 4."""
    label = use.label_version
    return f"{label.product.name}, label of {short_day(label.label_date, True)}, {page}"


def _rate(use: LabelUse, value: Decimal | None) -> Rate | None:
    return None if value is None else Rate.of(RateBasis(use.rate_basis), value, use.rate_unit)


def _limit(row: LimitRow, use: LabelUse) -> LabelLimit:
    return LabelLimit(
        fact=LimitFact(row.fact),
        comparison=Comparison(row.comparison),
        limit=row.limit,
        severity=Severity(row.severity),
        unit=row.unit,
        clause=clause_of(use, row.page),
        sentence=row.sentence,
        named=row.named,
    )


def pounds_per_gallon(use: LabelUse) -> Decimal | None:
    """Active ingredients of a liquid together, lb per gallon; None when one is not known."""
    rows = [one.pounds_per_gallon for one in use.label_version.product.ingredients.all()]
    known = [row for row in rows if row is not None]
    return sum(known, Decimal(0)) if known and len(known) == len(rows) else None


def percent_active(use: LabelUse) -> Decimal | None:
    """Active ingredients together, percent by weight; None when none is entered."""
    rows = [one.percent_by_weight for one in use.label_version.product.ingredients.all()]
    return sum(rows, Decimal(0)) if rows else None
