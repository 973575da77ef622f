"""A label as lines of words with their pages: to read, to verify, to compare two of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from accounts.rules.day_words import short_day
from sites.rules.places import PLACE_WORDS, Place
from sites.rules.units import Amount, plain
from treatments.rules.label_entry import (
    FACTS_WITH_PAGE,
    NewDirection,
    NewLabel,
    NewLimit,
)
from treatments.rules.products import (
    COMPARISON_WORDS,
    LIMIT_FACT_WORDS,
    METHOD_WORDS,
    MIX_BASIS_WORDS,
    TASK_WORDS,
    Comparison,
    LimitFact,
    Method,
    MixBasis,
    RateBasis,
    Task,
)
from treatments.rules.protective_equipment import RESPIRATOR_WORDS
from treatments.rules.rates import Rate
from treatments.rules.tank_mixes import TURN_WORDS


@dataclass(frozen=True)
class Line:
    """One fact: the part of the label it belongs to, its name, its words, its page."""

    part: str
    name: str
    words: str
    page: str = ""


@dataclass(frozen=True)
class Change:
    """One fact in two versions; `kind` is same, changed, added or removed."""

    part: str
    name: str
    old: str
    new: str
    kind: str


def lines(label: NewLabel, pest_names: Mapping[int, str]) -> tuple[Line, ...]:
    """Every fact of a label; pests by name."""
    return (
        *_facts(label),
        *(line for one in label.directions for line in _direction(one, pest_names)),
        *(_limit(one) for one in label.limits),
        *(
            Line(
                "Protective equipment by task",
                f"{TASK_WORDS[Task(one.task)]}: {one.item}",
                " or ".join(RESPIRATOR_WORDS[kind] for kind in one.respirators) or "worn",
                one.page,
            )
            for one in label.protections
        ),
    )


def _facts(label: NewLabel) -> Iterator[Line]:
    prohibited = ", ".join(METHOD_WORDS[Method(one)] for one in label.prohibited_methods)
    words = {
        "protective_equipment": label.protective_equipment,
        "reentry_text": label.reentry_text,
        "precautions": label.precautions,
        "first_aid": label.first_aid,
        "storage_and_disposal": label.storage_and_disposal,
        "only_listed_uses": "Nothing but what is listed" if label.only_listed_uses else "",
        "prohibited_methods": prohibited,
    }
    for name, title in FACTS_WITH_PAGE.items():
        if words[name]:
            yield Line("Label", title, words[name], label.pages.get(name, ""))
    if label.reentry_minutes is not None:
        yield Line("Label", "Re-entry after", f"{label.reentry_minutes} minutes")
    if label.safety_sheet_date is not None:
        yield Line("Label", "Safety data sheet of", short_day(label.safety_sheet_date, True))


def _direction(one: NewDirection, pest_names: Mapping[int, str]) -> Iterator[Line]:
    facts = {
        "Places": ", ".join(PLACE_WORDS[Place(place)] for place in one.places),
        "Methods": ", ".join(METHOD_WORDS[Method(method)] for method in one.methods),
        "Pests": ", ".join(sorted(pest_names[pk] for pk in one.pest_ids)),
        "Rate": _rate(one),
        "Product in a gallon": _per_gallon(one),
        "Finished spray on 1,000 sq ft": _gallons(one),
        "Label residual": _counted(one.residual_days, "up to {} days"),
        "Retreatment interval": _counted(one.min_interval_days or None, "{} days"),
        "Uses a year": _counted(one.uses_per_year, "{} at most"),
    }
    for name, words in facts.items():
        if words:
            yield Line(one.title, name, words, one.page)


def _rate(one: NewDirection) -> str:
    most = Rate.of(RateBasis(one.rate_basis), one.rate_max, one.rate_unit).words
    return most if one.rate_min is None else f"{plain(one.rate_min)} to {most}"


def _per_gallon(one: NewDirection) -> str:
    if one.per_gallon is None:
        return ""
    basis = MIX_BASIS_WORDS[MixBasis(one.mix_basis)].lower()
    return f"{Amount(one.per_gallon, one.rate_unit)}, {basis}"


def _gallons(one: NewDirection) -> str:
    given = {
        "usually": one.gallons_per_1000,
        "at least": one.min_gallons_per_1000,
        "at most": one.max_gallons_per_1000,
    }
    return ", ".join(f"{word} {_gal(value)}" for word, value in given.items() if value is not None)


def _gal(value: Decimal) -> str:
    return f"{plain(value)} gal"


def _counted(value: int | None, words: str) -> str:
    return "" if value is None else words.format(value)


def _limit(one: NewLimit) -> Line:
    where = f" ({one.direction})" if one.direction else ""
    about = f": {one.named}" if one.named else ""
    name = f"{LIMIT_FACT_WORDS[LimitFact(one.fact)]}{about}{where}"
    amount = str(Amount(one.limit, one.unit)) if one.unit else plain(one.limit)
    is_number = one.comparison in (Comparison.AT_MOST, Comparison.AT_LEAST)
    compared = COMPARISON_WORDS[Comparison(one.comparison)]
    bound = f"{compared} {amount}" if is_number else compared
    if one.fact == LimitFact.FILL_TURN:
        bound = TURN_WORDS[int(one.limit)]
    return Line("Limits", name, f"{bound}. {one.sentence}", one.page)


def compare(old: Iterable[Line], new: Iterable[Line]) -> tuple[Change, ...]:
    """Two labels side by side: the new one's facts in their order, then what is gone."""
    before, after = _keyed(old), _keyed(new)
    kept = [_change(key, before.get(key, ""), words) for key, words in after.items()]
    gone = [_change(key, words, "") for key, words in before.items() if key not in after]
    return (*kept, *gone)


def _keyed(rows: Iterable[Line]) -> dict[tuple[str, str], str]:
    """Words and page by part and name; a name that stands twice holds both."""
    found: dict[tuple[str, str], str] = {}
    for row in rows:
        words = f"{row.words} ({row.page})" if row.page else row.words
        before = found.get((row.part, row.name))
        found[row.part, row.name] = f"{before}; {words}" if before else words
    return found


def _change(key: tuple[str, str], old: str, new: str) -> Change:
    kind = "same" if old == new else "changed"
    if not old or not new:
        kind = "added" if new else "removed"
    return Change(*key, old, new, kind)
