"""Is it too soon or too often: interval, uses and active ingredient in a year."""

from __future__ import annotations

from datetime import date, timedelta

from accounts.rules.day_words import short_day
from sites.rules.units import plain
from treatments.rules.dilutions import SQ_FT_PER_ACRE
from treatments.rules.label_checks.facts import (
    Judgement,
    LabelFacts,
    LabelLimit,
    ProposedUse,
    ZoneUse,
)
from treatments.rules.products import LimitFact, Severity


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
    if facts.uses_per_year is not None or _yearly(facts):
        days.append(date(use.on.year, 1, 1))
    return min(days, default=None)


def _yearly(facts: LabelFacts) -> list[LabelLimit]:
    fact = LimitFact.INGREDIENT_PER_ACRE_YEAR
    return [row for row in facts.limits if row.fact == fact and row.limit is not None]


def ingredient(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Pounds of active ingredient per acre in a year, by cross-multiplication."""
    return [_ingredient_of(row, facts, use) for row in _yearly(facts)]


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
