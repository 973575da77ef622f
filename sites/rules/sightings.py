"""A sighting as somebody at the property tells it, before it is a row."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from accounts.refusals import Refused
from accounts.rules.lines import line, one_of

OLDEST = timedelta(days=366)  # house rule: what was seen longer ago is told by telephone


class HowMany(StrEnum):
    """How many there were; nobody counts ants."""

    ONE = "one"
    FEW = "few"
    MANY = "many"
    SIGNS = "signs"


HOW_MANY_WORDS: Mapping[HowMany, str] = {
    HowMany.ONE: "One",
    HowMany.FEW: "A few, up to ten",
    HowMany.MANY: "Many",
    HowMany.SIGNS: "None, but droppings, damage or other signs",
}


class Way(StrEnum):
    """How a sighting came to the firm."""

    LINK = "link"
    CODE = "code"


WAY_WORDS: Mapping[Way, str] = {Way.LINK: "by link", Way.CODE: "with the code in the logbook"}


@dataclass(frozen=True)
class NewSighting:
    """What was seen, where in the building, on which day and at what time, how many, by whom.

    `once` is the number of the form: sent again it is the same sighting.
    """

    what: str
    spot: str
    seen_on: date
    how_many: str
    once: uuid.UUID
    seen_at: str = ""
    name: str = ""


def checked(new: NewSighting, today: date) -> NewSighting:
    """The sighting with every line tidied.

    Refused, naming the field: nothing seen or nowhere, a line that is too long, a day to come or
    more than a year ago, a number that is not in the list.
    """
    if not today - OLDEST <= new.seen_on <= today:
        raise Refused("day", "Choose a day of the last year, today at the latest.", field="seen_on")
    return replace(
        new,
        what=line(new.what, field="what", label="What was seen", most=200),
        spot=line(new.spot, field="spot", label="Where in the building", most=160),
        seen_at=line(new.seen_at, field="seen_at", label="Time", most=40, needed=False),
        how_many=one_of(new.how_many, list(HowMany), field="how_many", label="How many"),
        name=line(new.name, field="name", label="Name", most=80, needed=False),
    )
