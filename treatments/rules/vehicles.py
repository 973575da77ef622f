"""What a vehicle must carry and how often somebody looks.

Spill kit, eyewash, extinguisher, labels and safety data sheets aboard, looked at once a week:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from accounts.refusals import Refused
from accounts.rules.day_words import short_day

CHECK_EVERY_DAYS = 7
LONGEST_NOTE = 200


class VehicleItem(StrEnum):
    """One thing that belongs aboard."""

    SPILL_KIT = "spill_kit"
    EYEWASH = "eyewash"
    EXTINGUISHER = "extinguisher"
    LABELS = "labels"
    SAFETY_SHEETS = "safety_sheets"


ITEM_WORDS: Mapping[StrEnum, str] = {
    VehicleItem.SPILL_KIT: "Spill kit",
    VehicleItem.EYEWASH: "Eyewash",
    VehicleItem.EXTINGUISHER: "Fire extinguisher",
    VehicleItem.LABELS: "Labels of every product aboard",
    VehicleItem.SAFETY_SHEETS: "Safety data sheets of every product aboard",
}


@dataclass(frozen=True)
class Found:
    """Whether one item is aboard, and what there is to say about it."""

    is_present: bool
    note: str = ""


@dataclass(frozen=True)
class CheckStanding:
    """How a vehicle stands on a day; `state` is ok, check or late."""

    state: str
    word: str
    is_overdue: bool


def refuse_half_check(found: Mapping[VehicleItem, Found]) -> None:
    """Refuse a check that leaves an item out or says nothing about a missing one."""
    for item in VehicleItem:
        word = ITEM_WORDS[item]
        if item not in found:
            raise Refused("check", f"{word}: say whether it is aboard.", field=item.value)
        one = found[item]
        if not one.is_present and not one.note.strip():
            sentence = f"{word} is missing: write what is wrong and what is done about it."
            raise Refused("check", sentence, field=f"{item.value}_note")


def check_standing(
    checked_on: date | None, today: date, missing: Collection[str] = ()
) -> CheckStanding:
    """How a vehicle stands: overdue after seven days, never checked counts as overdue."""
    if checked_on is None:
        return CheckStanding("late", "Never checked", True)
    names = ", ".join(ITEM_WORDS[VehicleItem(one)].lower() for one in missing)
    lacks = f"Missing: {names}" if names else ""
    if (today - checked_on).days > CHECK_EVERY_DAYS:
        said = f"Check overdue, it was due {short_day(due_on(checked_on), True)}"
        return CheckStanding("late", f"{said}. {lacks}" if lacks else said, True)
    if lacks:
        return CheckStanding("check", lacks, False)
    return CheckStanding("ok", "Checked, complete", False)


def due_on(checked_on: date) -> date:
    """The last day on which the next check is in time."""
    return date.fromordinal(checked_on.toordinal() + CHECK_EVERY_DAYS)
