"""Is it too soon or too often: interval, uses and active ingredient in a year."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from sites.rules.units import Amount, group, plain, unit_word
from treatments.rules.dilutions import SQ_FT_PER_ACRE
from treatments.rules.label_checks.facts import (
    Judgement,
    LabelFacts,
    LabelLimit,
    ProposedUse,
    ZoneUse,
)
from treatments.rules.products import LimitFact, RateBasis, Severity
from treatments.rules.rates import Rate

YEARLY = (LimitFact.INGREDIENT_PER_ACRE_YEAR, LimitFact.PRODUCT_PER_AREA_YEAR)


def interval(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Days since the last use in each zone; the day the interval is full passes."""
    days = facts.min_interval_days
    if days is None:
        return []
    return [
        _interval_of(zone, zone.last_used_on, days, facts, use)
        for zone in use.zones
        if zone.last_used_on is not None
    ]


def _interval_of(
    zone: ZoneUse, last: date, days: int, facts: LabelFacts, use: ProposedUse
) -> Judgement:
    since = (use.on - last).days
    if since >= days:
        sentence = f"{zone.name}: {since} days since the last use, label asks {days}"
        return Judgement("interval", Severity.NOTE, sentence, facts.clause)
    back = short_day(last + timedelta(days=days), True)
    return Judgement(
        "interval",
        Severity.REFUSE,
        f"{zone.name} was treated {since} days ago; the label asks for {days}.",
        facts.clause,
        f"Come back on or after {back}, or treat another zone.",
    )


def uses(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """This use counted with those already made this year."""
    most = facts.uses_per_year
    if most is None:
        return []
    return [_uses_of(zone, most, facts) for zone in use.zones]


def _uses_of(zone: ZoneUse, most: int, facts: LabelFacts) -> Judgement:
    number = zone.uses_this_year + 1
    if number <= most:
        sentence = f"{zone.name}: use {number} of {most} this year"
        return Judgement("uses", Severity.NOTE, sentence, facts.clause)
    return Judgement(
        "uses",
        Severity.REFUSE,
        f"{zone.name} had {zone.uses_this_year} uses this year; the most is {most}.",
        facts.clause,
        "Inspect and seal, or choose another product.",
    )


def known_since(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Older treatments than the firm's records here cannot be judged: say so."""
    begins = use.history_known_since
    needed = _history_needed(facts, use)
    if begins is None or needed is None or begins <= needed:
        return []
    sentence = f"History before {short_day(begins, True)} is not known here."
    to_do = "Ask the customer or look in the older records."
    return [Judgement("history", Severity.WARN, sentence, facts.clause, to_do)]


def _history_needed(facts: LabelFacts, use: ProposedUse) -> date | None:
    """The first day whose treatments matter to this label."""
    days = []
    if facts.min_interval_days:
        days.append(use.on - timedelta(days=facts.min_interval_days))
    if facts.uses_per_year is not None or any(_yearly(facts, fact) for fact in YEARLY):
        days.append(date(use.on.year, 1, 1))
    return min(days, default=None)


def _yearly(facts: LabelFacts, fact: LimitFact) -> list[LabelLimit]:
    return [row for row in facts.limits if row.fact == fact and row.limit is not None]


def ingredient(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Pounds of active ingredient per acre in a year, by cross-multiplication."""
    return [_ingredient_of(row, facts, use) for row in _yearly(facts, YEARLY[0])]


def _ingredient_of(row: LabelLimit, facts: LabelFacts, use: ProposedUse) -> Judgement:
    clause = row.clause or facts.clause
    if use.ingredient_lb is None or use.ingredient_lb_this_year is None or row.limit is None:
        sentence = "Active ingredient this year is not known for these zones."
        return Judgement("ingredient", Severity.WARN, sentence, clause, "Add it up by hand.")
    total = use.ingredient_lb + use.ingredient_lb_this_year
    per_acre = plain((total * SQ_FT_PER_ACRE / use.area.value).quantize(row.limit / 10000))
    numbers = f"{per_acre} lb active ingredient per acre this year, most {plain(row.limit)}"
    if total * SQ_FT_PER_ACRE <= row.limit * use.area.value:
        return Judgement("ingredient", Severity.NOTE, numbers, clause)
    to_do = "Choose another ingredient, or inspect and seal."
    return Judgement("ingredient", row.severity, f"{numbers}.", clause, to_do)


def product(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Product on 1,000 sq ft in a year, this use included, by cross-multiplication."""
    return [_product_of(row, facts, use) for row in _yearly(facts, YEARLY[1])]


def _product_of(row: LabelLimit, facts: LabelFacts, use: ProposedUse) -> Judgement:
    clause = row.clause or facts.clause
    if use.product_this_year is None or use.area.value <= 0 or row.limit is None:
        sentence = "Product put out this year is not known for these zones."
        return Judgement("product_year", Severity.WARN, sentence, clause, "Add it up by hand.")
    most = Rate.of(RateBasis.AREA, row.limit, row.unit or use.product.unit)
    try:
        return _product_judged(most, row, clause, use, use.product_this_year)
    except Refused as refused:
        to_do = "Enter the amount in the label's unit."
        return Judgement("product_year", row.severity, refused.sentence, clause, to_do)


def _product_judged(
    most: Rate, row: LabelLimit, clause: str, use: ProposedUse, before: Amount
) -> Judgement:
    unit = most.product.unit
    total = Amount(use.product.to(unit).value + before.to(unit).value, unit)
    put = most.applied(total, use.area).quantize(Decimal("0.0001"))
    numbers = (
        f"{group(put)} {unit_word(unit)} of product on 1,000 sq ft this year, "
        f"most {group(most.product.value)}"
    )
    if most.compare(total, use.area) <= 0:
        return Judgement("product_year", Severity.NOTE, numbers, clause)
    to_do = "Choose another product, or inspect and seal."
    return Judgement("product_year", row.severity, f"{numbers}.", clause, to_do)
