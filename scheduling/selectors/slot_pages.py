"""The page of ranked places: three offers to read out, then every choice with its reasons."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from scheduling.rules.day_words import full_day, hours, week_day
from scheduling.rules.public_holidays import holiday_name
from scheduling.rules.slots import Choice, read_out, spread
from scheduling.selectors.booking_pages import MINUTES
from scheduling.selectors.renewal_pages import renewal_for
from scheduling.selectors.slots import (
    BranchDays,
    CustomerAsks,
    branch_days,
    choices_for,
    technicians_in,
)
from sites.selectors.properties import property_for

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Renewal
    from sites.models import Property

OFFERS, LISTED = 3, 15
NOON = time(12)


@dataclass(frozen=True)
class SlotRow:
    """One choice in words, and the fields that a booking of it needs."""

    on: str
    window: str
    technician: str
    added: int
    reasons: tuple[str, ...]
    holiday: str
    is_offer: bool
    fields: dict[str, Any]

    @property
    def query(self) -> str:
        return urlencode(self.fields)


@dataclass(frozen=True)
class SlotPage:
    """Where, why and what could be offered."""

    place: Property
    renewal: Renewal | None
    said: str
    rows: Sequence[SlotRow]
    found: int

    @property
    def lapses_on(self) -> str:
        return full_day(self.renewal.lapses_on) if self.renewal else ""


@dataclass(frozen=True)
class SlotQuestion:
    """A place with its branch's days read, before anybody says what they ask for."""

    place: Property
    renewal: Renewal | None
    read: BranchDays

    @property
    def technicians(self) -> Collection[tuple[int, str]]:
        return technicians_in(self.read)


def ask_for_renewal(person: Person, pk: int, now: datetime) -> SlotQuestion:
    """The question of a renewal the person may see; otherwise Http404."""
    renewal = renewal_for(person, pk)
    return SlotQuestion(renewal.property, renewal, branch_days(renewal.property.branch, now))


def ask_for_property(person: Person, pk: int, now: datetime) -> SlotQuestion:
    """The question of a property the person may see; otherwise Http404."""
    place = property_for(person, pk)
    return SlotQuestion(place, None, branch_days(place.branch, now))


def asks_of(wanted: dict[str, Any]) -> CustomerAsks:
    """What the form says, as the search takes it."""
    half = wanted.get("half")
    return CustomerAsks(
        weekdays=frozenset({wanted["weekday"]} if "weekday" in wanted else ()),
        since=NOON if half == "pm" else None,
        until=NOON if half == "am" else None,
        technician=wanted.get("technician"),
        from_day=wanted.get("from_day"),
        on_holidays=bool(wanted.get("on_holidays")),
    )


def slot_page(question: SlotQuestion, asks: CustomerAsks) -> SlotPage:
    """Rank the places and put them in words."""
    place = question.place
    found = choices_for(place, MINUTES, question.read, renewal=question.renewal, asks=asks)
    offers = spread(found, OFFERS)
    listed = [*offers, *(one for one in spread(found, LISTED) if one not in offers)]
    rows = [_row(one, place.state, is_offer=one in offers) for one in listed[:LISTED]]
    return SlotPage(place, question.renewal, read_out(offers), rows, len(found))


def _row(choice: Choice, state: str, *, is_offer: bool) -> SlotRow:
    return SlotRow(
        on=week_day(choice.day),
        window=hours(choice.opens, choice.closes),
        technician=choice.name,
        added=choice.added_s // 60,
        reasons=choice.reasons[1:],
        holiday=holiday_name(choice.day, state),
        is_offer=is_offer,
        fields={
            "technician": choice.technician,
            "day": choice.day.isoformat(),
            "window_opens": f"{choice.opens:%H:%M}",
            "window_closes": f"{choice.closes:%H:%M}",
            "minutes": MINUTES,
        },
    )
