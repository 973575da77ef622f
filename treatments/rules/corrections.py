"""What may change in a record, by whom, and what has changed since somebody asked.

Facts of an entry are plain JSON values by field: text, a key, a list, sizes by zone. An amount is
its text and unit, "1.6 fl_oz"; a time is an instant of a leaf.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from accounts.refusals import Refused

Value = str | bool | int | None | list[str] | dict[str, str]
Facts = Mapping[str, Value]
LONGEST_REASON = 500
# what the records of one tank say alike, since one spray put all of its products out
OF_THE_SPRAY = ("started_at", "finished_at", "method", "zones", "finished_amount")

FIELD_WORDS: dict[str, str] = {
    "started_at": "Start",
    "finished_at": "End",
    "applicator": "Applicator",
    "direction": "Product and direction",
    "method": "Method",
    "pests": "Pests",
    "zones": "Zones and sizes",
    "product_amount": "Undiluted product",
    "finished_amount": "Finished spray",
    "equipment": "Equipment",
    "wind_mph": "Wind",
    "wind_direction": "Wind from",
    "temperature_f": "Temperature",
    "conditions": "Sky and weather",
    "weather_source": "Read from",
    "protective_equipment_confirmed": "Protective equipment",
    "participants": "Who helped",
    "location_detail": "Where exactly",
    "mixing_location": "Where it was mixed",
    "product_supplier": "Supplier of the product",
    "customer_phone": "Customer's phone",
    "notes": "Notes",
}
# who reads the corrected copy may have acted on these: regulations.md 7.6
CUSTOMER_MUST_KNOW = frozenset(
    {"started_at", "finished_at", "applicator", "direction", "zones", "product_amount"}
)


@dataclass(frozen=True)
class Change:
    """One field with its old and its new value."""

    field: str
    old: Value
    new: Value

    @property
    def words(self) -> str:
        return FIELD_WORDS[self.field]


def changes_between(old: Facts, new: Facts) -> tuple[Change, ...]:
    """What differs, in the order of the fields; a field that `new` does not name is unchanged."""
    named = (field for field in FIELD_WORDS if field in new)
    return tuple(
        Change(field, old.get(field), new[field])
        for field in named
        if not _alike(old.get(field), new[field])
    )


def of_the_spray(changes: Iterable[Change]) -> dict[str, Value]:
    """What a correction says of the spray: every other record of the tank is to say it too."""
    return {one.field: one.new for one in changes if one.field in OF_THE_SPRAY}


def _alike(old: Value, new: Value) -> bool:
    return old == new or (is_empty(old) and is_empty(new))


def is_empty(value: Value) -> bool:
    """Whether a field has no value yet; "no" is one."""
    return value is None or value in ("", [], {})


def refuse_addendum(changes: Iterable[Change]) -> None:
    """An addendum fills what is empty; refused when it fills nothing or changes a value."""
    filled = list(changes)
    if not filled:
        raise Refused("nothing_filled", "Nothing is filled in. Write what was missing.")
    for one in filled:
        if not is_empty(one.old):
            raise Refused(
                "has_value",
                f"{one.words} has a value already. Ask for a correction instead.",
                field=one.field,
            )


def refuse_request(changes: Iterable[Change], reason: str) -> None:
    """A correction says what and why; refused when nothing changes or no reason is given."""
    if not list(changes):
        raise Refused("nothing_changed", "Nothing is changed. Change what is wrong.")
    refuse_without_reason(reason)


def refuse_without_reason(reason: str) -> None:
    """Refuse an act without its reason, or with one too long to read."""
    if not reason.strip():
        raise Refused("reason", "The reason is missing. Say what was wrong.", field="reason")
    if len(reason) > LONGEST_REASON:
        sentence = f"The reason is longer than {LONGEST_REASON} letters. Shorten it."
        raise Refused("reason", sentence, field="reason")


def rebased(current: Facts, changes: Iterable[Change]) -> dict[str, Value]:
    """The facts with the changes made; refused when a field has changed since they were asked."""
    facts = dict(current)
    for one in changes:
        if not _alike(facts.get(one.field), one.old):
            raise Refused(
                "changed_since",
                f"{one.words} has changed since this was asked for. Decline it and ask again.",
            )
        facts[one.field] = one.new
    return facts


def refuse_own(*, is_own: bool, is_alone: bool, is_a_day_old: bool) -> None:
    """Who asked is no second person; alone in the firm they may decide 24 hours later."""
    if is_own and not is_alone:
        raise Refused("second_person", "You asked for this. Somebody else must decide about it.")
    if is_own and not is_a_day_old:
        raise Refused(
            "second_person",
            "You asked for this, and nobody else in the firm may decide about it. "
            "Look at it again 24 hours after it was asked for.",
        )
