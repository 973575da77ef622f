"""Is it too soon or too often: interval, uses and active ingredient in a year."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from accounts.refusals import Refused
from accounts.rules.day_words import days_ago, short_day
from sites.rules.units import Amount, group, plain, unit_word
from treatments.rules.dilutions import SQ_FT_PER_ACRE
from treatments.rules.label_checks.facts import (
    IngredientUse,
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
    found = [
        _interval_of(zone, zone.last_used_on, days, facts, use)
        for zone in use.zones
        if zone.last_used_on is not None
    ]
    found += [one for zone in use.zones for one in _same_ingredient(zone, days, facts, use)]
    return found + [one for zone in use.zones for one in _booked_inside(zone, days, facts, use)]


def _same_ingredient(
    zone: ZoneUse, days: int, facts: LabelFacts, use: ProposedUse
) -> list[Judgement]:
    """The label's interval is of its own product: the same ingredient in another one only warns."""
    last = zone.ingredient_used_on
    if last is None or (use.on - last).days >= days:
        return []
    sentence = (
        f"{zone.name} had the same active ingredient in another product "
        f"{days_ago((use.on - last).days)}; this label asks for {days} days between uses."
    )
    to_do = "Read both labels, or choose another ingredient."
    return [Judgement("interval", Severity.WARN, sentence, facts.clause, to_do)]


def _booked_inside(
    zone: ZoneUse, days: int, facts: LabelFacts, use: ProposedUse
) -> list[Judgement]:
    """A booked visit that comes before this product may be used again."""
    opens = use.on + timedelta(days=days)
    inside = [day for day in zone.booked_on if use.on <= day < opens]
    if not inside:
        return []
    sentence = (
        f"{zone.name}: a visit is booked {_days(inside)}, "
        f"inside the {days} days the label asks for after this use."
    )
    to_do = f"Ask the office to move it to {short_day(opens, True)} or later, or use less often."
    return [Judgement("interval", Severity.WARN, sentence, facts.clause, to_do)]


def _days(days: Sequence[date]) -> str:
    return ", ".join(short_day(day, True) for day in sorted(days))


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
        f"{zone.name} was treated {days_ago(since)}; the label asks for {days} days.",
        facts.clause,
        f"Come back on or after {back}, or treat another zone.",
    )


def uses(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """This use counted with those already made this year."""
    most = facts.uses_per_year
    if most is None:
        return []
    return [_uses_of(zone, most, facts, use) for zone in use.zones]


def _uses_of(zone: ZoneUse, most: int, facts: LabelFacts, use: ProposedUse) -> Judgement:
    number = zone.uses_this_year + 1
    booked = _this_year(zone, use)
    if number <= most and booked and number + len(booked) >= most:
        return _none_left(zone, number, most, booked, facts)
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


def _none_left(
    zone: ZoneUse, number: int, most: int, booked: Sequence[date], facts: LabelFacts
) -> Judgement:
    more = "one more is" if len(booked) == 1 else f"{len(booked)} more are"
    sentence = f"{zone.name}: use {number} of {most} this year, {more} booked {_days(booked)}."
    over = number + len(booked) - most
    to_do = f"Plan {over} of them without this product." if over else "None is left after that."
    return Judgement("uses", Severity.WARN, sentence, facts.clause, to_do)


def _this_year(zone: ZoneUse, use: ProposedUse) -> list[date]:
    return [day for day in zone.booked_on if day >= use.on and day.year == use.on.year]


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
    """Pounds of each active ingredient per acre in a year, by cross-multiplication."""
    rows = _yearly(facts, YEARLY[0])
    if rows and (not use.ingredients or use.area.value <= 0):
        sentence = "Active ingredient this year is not known for these zones."
        clause = rows[0].clause or facts.clause
        return [Judgement("ingredient", Severity.WARN, sentence, clause, "Add it up by hand.")]
    return [_ingredient_of(one, row, facts, use) for row in rows for one in use.ingredients]


def _ingredient_of(
    one: IngredientUse, row: LabelLimit, facts: LabelFacts, use: ProposedUse
) -> Judgement:
    clause = row.clause or facts.clause
    if one.lb is None or one.lb_this_year is None or row.limit is None:
        sentence = f"{one.name} put on these zones this year is not known."
        return Judgement("ingredient", Severity.WARN, sentence, clause, "Add it up by hand.")
    total = one.lb + one.lb_this_year
    numbers = _per_acre(one.name, total, row.limit, use)
    if total * SQ_FT_PER_ACRE > row.limit * use.area.value:
        to_do = "Choose another ingredient, or inspect and seal."
        return Judgement("ingredient", row.severity, f"{numbers}.", clause, to_do)
    # visits that are booked are taken to need as much as this one
    planned = one.lb * _area_booked(use) / use.area.value
    if (total + planned) * SQ_FT_PER_ACRE > row.limit * use.area.value:
        with_booked = _per_acre(one.name, total + planned, row.limit, use)
        sentence = f"With as much again on the visits booked: {with_booked}."
        to_do = "Plan one of them with another ingredient."
        return Judgement("ingredient", Severity.WARN, sentence, clause, to_do)
    return Judgement("ingredient", Severity.NOTE, numbers, clause)


def _area_booked(use: ProposedUse) -> Decimal:
    """Square feet of the zones, each as often as it is booked before the year ends."""
    each = (zone.area.to("ft2").value * len(_this_year(zone, use)) for zone in use.zones)
    return sum(each, Decimal(0))


def _per_acre(name: str, pounds: Decimal, most: Decimal, use: ProposedUse) -> str:
    number = (pounds * SQ_FT_PER_ACRE / use.area.value).quantize(most / 10000)
    return f"{plain(number)} lb {name} per acre this year, most {plain(most)}"


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
        return Judgement("product_year", row.severity, refused.sentence, clause)


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
