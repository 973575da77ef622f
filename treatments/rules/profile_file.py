"""A profile as plain values: as our data file and the table hold it.

An item is its mark as text, or an object with `ask` and `when`; a group of ways is an object with
`ways` (lists of items) and `when`. What cannot be read is refused with the place of the mistake.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from accounts.refusals import Refused
from treatments.rules.copies import read_copies
from treatments.rules.predicates import Fact, refuse_condition
from treatments.rules.profile_terms import Deadline, Retention
from treatments.rules.profile_words import (
    ITEM_WORDS,
    Allowance,
    Anchor,
    DeadlineKind,
    Evidence,
    Item,
    Mark,
    Reach,
)
from treatments.rules.profiles import ALWAYS, Ask, NoticeRule, OneOf, Profile

Plain = dict[str, Any]
MOST_YEARS = 100
MOST_HOURS = 24 * 366


def read_profile(entry: Plain, *, is_verified: bool = False) -> Profile:
    """One profile of plain values; refused: an item, condition, group or term that is none."""
    retention, deadline = entry["retention"], entry["deadline"]
    refuse_condition(entry["applies"])
    refuse_terms(retention["years"], deadline["amount"])
    asks, groups = read_asks(entry["fields"]), read_one_of(entry["one_of"])
    refuse_loose_alternatives(asks, groups)
    return Profile(
        code=entry["code"],
        version=entry["version"],
        reach=Reach(entry["reach"]),
        state=entry["state"],
        effective_on=date.fromisoformat(entry["effective_on"]),
        citation=entry["citation"],
        applies=entry["applies"],
        asks=asks,
        one_of=groups,
        retention=_retention(retention),
        deadline=_deadline(deadline),
        unlisted_pest=Allowance(entry["unlisted_pest"]),
        unlisted_method=Allowance(entry["unlisted_method"]),
        copies=read_copies(entry["copies"], is_verified=is_verified),
        notices=read_notices(entry["notices"]),
        is_verified=is_verified,
    )


def _retention(said: Plain) -> Retention:
    return Retention(said["years"], Anchor(said["anchor"]), Evidence(said["evidence"]))


def _deadline(said: Plain) -> Deadline:
    return Deadline(DeadlineKind(said["kind"]), said["amount"], Evidence(said["evidence"]))


# asked for every item of every rule at every record: a set answers without a walk
ITEMS, MARKS = frozenset(Item), frozenset(Mark)


def read_asks(fields: Mapping[str, Any]) -> dict[Item, Ask]:
    """The items of a profile; refused: an unknown item, mark or condition."""
    found = {}
    for name, said in fields.items():
        if name not in ITEMS:
            raise Refused("item", f"{name[:40]!r} is not an item of a record.", field="fields")
        found[Item(name)] = _ask(Item(name), said)
    return found


def _ask(item: Item, said: Any) -> Ask:
    mark, when = (said.get("ask"), said.get("when")) if isinstance(said, dict) else (said, None)
    if not isinstance(mark, str) or mark not in MARKS:
        raise Refused("item", f"{ITEM_WORDS[item]}: how it is asked is missing.", field="fields")
    if mark == Mark.CONDITIONAL and when is None:
        raise Refused("item", f"{ITEM_WORDS[item]}: its condition is missing.", field="fields")
    if when is None:
        return Ask(Mark(mark))
    refuse_condition(when)
    return Ask(Mark(mark), when)


def read_one_of(groups: Sequence[Any]) -> tuple[OneOf, ...]:
    """The groups of ways; refused: a group with fewer than one way, a way without items."""
    if not isinstance(groups, list | tuple):
        raise Refused("one_of", "The groups of ways are a list.", field="one_of")
    return tuple(_one_of(group) for group in groups)


def _one_of(group: Any) -> OneOf:
    ways = group.get("ways") if isinstance(group, dict) else None
    if not isinstance(ways, list) or not ways or not all(_is_way(way) for way in ways):
        raise Refused("one_of", "A group needs at least one way with an item.", field="one_of")
    strange = [item for way in ways for item in way if item not in list(Item)]
    if strange:
        raise Refused("one_of", f"{strange[0]!r} is not an item of a record.", field="one_of")
    when = group.get("when", ALWAYS)
    refuse_condition(when)
    return OneOf(tuple(frozenset(Item(item) for item in way) for way in ways), when)


def read_notices(rows: object) -> tuple[NoticeRule, ...]:
    """The notices of a profile; refused: one without text, evidence, or with a fact that is none.

    Without `when` a notice holds of every job.
    """
    if not isinstance(rows, list):
        raise Refused("notices", "The notices are a list.", field="notices")
    return tuple(_notice(row) for row in rows)


def _notice(row: Any) -> NoticeRule:
    said: Plain = row if isinstance(row, dict) else {}
    text, when = str(said.get("text") or "").strip(), said.get("when") or None
    if not text or said.get("evidence") not in list(Evidence):
        raise Refused("notices", "A notice has a text, and how it is known.", field="notices")
    if when is not None and when not in list(Fact):
        raise Refused("notices", f"{str(when)[:40]!r} is not a fact of the list.", field="notices")
    return NoticeRule(text, Evidence(said["evidence"]), when and Fact(when))


def _is_way(way: Any) -> bool:
    return isinstance(way, list) and bool(way)


def refuse_terms(years: int | None, amount: int) -> None:
    """Refuse years or a time to complete that no rule would state."""
    if years is not None and not 0 <= years <= MOST_YEARS:
        raise Refused(
            "retention", f"Years run from 0 to {MOST_YEARS}. Correct them.", field="retention_years"
        )
    if not 0 <= amount <= MOST_HOURS:
        raise Refused(
            "deadline", "Hours or days of the deadline are not possible.", field="deadline_amount"
        )


def refuse_loose_alternatives(asks: Mapping[Item, Ask], groups: Sequence[OneOf]) -> None:
    """Refuse an item marked as one of several ways that stands in no group."""
    grouped = {item for group in groups for way in group.ways for item in way}
    loose = [i for i, ask in asks.items() if ask.mark == Mark.ALTERNATIVE and i not in grouped]
    if loose:
        raise Refused(
            "one_of", f"{ITEM_WORDS[loose[0]]} is one of several ways, and no group names it."
        )
