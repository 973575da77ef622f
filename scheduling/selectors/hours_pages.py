"""Hours of one technician: the week and the days away that are still to come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING, Any

from accounts.selectors.people import person_for
from scheduling.rules.day_words import week_day
from scheduling.selectors.days import shifts_of, time_off_of

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Shift

USUAL = {
    "starts": time(8),
    "ends": time(17),
    "lunch_from": time(11, 30),
    "lunch_until": time(13, 30),
    "lunch_minutes": 30,
}


@dataclass(frozen=True)
class AwayRow:
    """Days away in words."""

    pk: int
    first: str
    last: str
    reason: str


@dataclass(frozen=True)
class HoursPage:
    """A technician's week and days away."""

    technician: Person
    shifts: Mapping[int, Shift]
    away: Sequence[AwayRow]

    def initial(self, weekday: int) -> dict[str, Any]:
        """What the form of one weekday starts from: its shift, or nothing but the usual lunch."""
        shift = self.shifts.get(weekday)
        if shift is None:
            return {"works": False}
        return {"works": True} | {name: getattr(shift, name) for name in USUAL}


def hours_page(person: Person, pk: int, today: date) -> HoursPage:
    """Read the hours of somebody the person may see; otherwise Http404."""
    technician = person_for(person, pk)
    return HoursPage(
        technician=technician,
        shifts={shift.weekday: shift for shift in shifts_of(technician.pk)},
        away=[
            AwayRow(one.pk, week_day(one.starts_on), week_day(one.ends_on), one.reason)
            for one in time_off_of(technician.pk, today)
        ],
    )
