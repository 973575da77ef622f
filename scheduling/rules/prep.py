"""How a customer prepares for a visit: items by what is planned and by the property.

The items are our own wording of common practice, no source; the label governs, and what it asks
stands on the notice of the work.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256

from accounts.refusals import Refused
from accounts.rules.lines import line
from sites.rules.places import CautionKind, Place

MOST_ITEMS, LONGEST_ITEM = 20, 200


class Treatment(StrEnum):
    """What is planned, as far as the customer's preparing differs."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    ATTIC_VOID = "attic_void"
    BAIT = "bait"
    SPACE = "space"
    INSPECTION = "inspection"


TREATMENT_WORDS: Mapping[StrEnum, str] = {
    Treatment.OUTSIDE: "Service outside",
    Treatment.INSIDE: "Service inside",
    Treatment.ATTIC_VOID: "Attic, crawl space or void",
    Treatment.BAIT: "Bait",
    Treatment.SPACE: "Treatment of a whole room",
    Treatment.INSPECTION: "Inspection",
}


class Answer(StrEnum):
    """What a customer answers to a promised visit."""

    CONFIRMED = "confirmed"
    OTHER_TIME = "other_time"


ANSWER_WORDS: Mapping[StrEnum, str] = {
    Answer.CONFIRMED: "Confirmed",
    Answer.OTHER_TIME: "Asks for another time",
}
ANIMALS = "Keep people and pets inside, away from the work, until everything is dry."
HOUSE_ITEMS: Mapping[Treatment, tuple[str, ...]] = {
    Treatment.OUTSIDE: (
        "Move pots, bins and firewood two feet away from the walls.",
        "Close windows and doors.",
        "Take in laundry, toys and bowls of pets.",
        ANIMALS,
    ),
    Treatment.INSIDE: (
        "Clear the floor along the walls and empty the cabinets we are to treat.",
        "Put away food, dishes, toothbrushes and toys.",
        "Plan to be out of the rooms, with your pets, until they are dry and aired.",
    ),
    Treatment.ATTIC_VOID: (
        "Clear the way to the hatch and beneath it.",
        "Cover what is stored there.",
    ),
    Treatment.BAIT: (
        "Do not clean with strong cleaners where bait is placed, the day before and after.",
        "Do not use sprays of your own.",
    ),
    Treatment.SPACE: (
        "Everybody and every animal leaves; we say when you may come back.",
        "Cover aquariums and turn off their pumps.",
        "Put out every flame, also pilot lights, as we tell you on the telephone.",
    ),
    Treatment.INSPECTION: ("Make the attic, cellar and the spaces under sinks reachable.",),
}
ITEM_OF_CAUTION: Mapping[str, str] = {
    CautionKind.DOG: "Keep the dog inside or away from our way.",
    CautionKind.PETS: "Keep pets away from the rooms and walls we work at.",
    CautionKind.FISH_POND: "Cover the pond and turn off its pump.",
    CautionKind.AQUARIUM: "Cover the aquarium and turn off its pump.",
    CautionKind.BEES: "Tell the keeper of the hives the day before.",
}
INSIDE = frozenset({Place.CRACK_CREVICE, Place.INTERIOR_SPOT, Place.FOOD_AREA, Place.OPEN_SPACE})
HIDDEN = frozenset({Place.VOID, Place.ATTIC, Place.CRAWL_SPACE})
BAIT_METHODS, SPACE_METHODS = frozenset({"bait", "device"}), frozenset({"space"})


@dataclass(frozen=True)
class Planned:
    """One zone that is planned: its place and, where known, by which method it was treated."""

    place: str
    method: str = ""


@dataclass(frozen=True)
class PrepItem:
    """One thing to prepare and what was said of it; None: nothing yet."""

    words: str
    is_done: bool | None = None

    @property
    def key(self) -> str:
        return key_of(self.words)

    @property
    def state(self) -> str:
        return {None: "not said", True: "done", False: "not done"}[self.is_done]


def key_of(words: str) -> str:
    """By what an item is known again, whatever its place in the list."""
    return sha256(words.encode()).hexdigest()[:16]


def treatment_of(planned: Planned) -> Treatment:
    """What one zone asks of the customer."""
    if planned.method in SPACE_METHODS:
        return Treatment.SPACE
    if planned.method in BAIT_METHODS:
        return Treatment.BAIT
    if planned.place in HIDDEN:
        return Treatment.ATTIC_VOID
    return Treatment.INSIDE if planned.place in INSIDE else Treatment.OUTSIDE


def treatments_of(planned: Iterable[Planned], *, is_inspection: bool) -> tuple[Treatment, ...]:
    """What a visit asks of the customer, in the order of the list; an inspection by itself."""
    found = {Treatment.INSPECTION} if is_inspection else {treatment_of(one) for one in planned}
    return tuple(one for one in Treatment if one in found)


def items_of(
    treatments: Iterable[Treatment],
    own: Mapping[str, Sequence[str]],
    more: Sequence[str],
    cautions: Collection[str],
) -> tuple[str, ...]:
    """The items of a visit, each once: of its treatments, of what is watched there, of the place.

    `own` are the firm's lists by treatment, in place of the house's; `more` the property's.
    """
    found: list[str] = []
    for one in treatments:
        found += own.get(one, HOUSE_ITEMS[one])
    found += [words for kind, words in ITEM_OF_CAUTION.items() if kind in cautions]
    return tuple(dict.fromkeys([*found, *more]))


def lines_of(text: str) -> tuple[str, ...]:
    """The items of a stored list."""
    return tuple(one for one in text.split("\n") if one)


def checked_lines(typed: str) -> str:
    """A list as typed, one item a line, each once.

    Refused, naming the field: more than 20 items, one over 200 letters.
    """
    wanted = [
        line(one, field="lines", label="An item", most=LONGEST_ITEM, needed=False)
        for one in typed.replace("\r", "\n").split("\n")
    ]
    items = list(dict.fromkeys(one for one in wanted if one))
    if len(items) > MOST_ITEMS:
        raise Refused(
            "items", f"A list has at most {MOST_ITEMS} items. Join or drop some.", field="lines"
        )
    return "\n".join(items)
