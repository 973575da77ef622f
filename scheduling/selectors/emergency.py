"""The products of a technician's day: aboard, mixed, and needed by the stops."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from accounts.rules.day_words import short_day
from accounts.selectors.pages import local_today
from scheduling.selectors.load_lists import own_load_page
from treatments.reports.emergency_words import EmergencySheet
from treatments.selectors.emergency_sheets import aboard, named, sheet_of

if TYPE_CHECKING:
    from accounts.models import Person

NOTHING = "Nothing is aboard by the books, and no stop of today needs a product that is known."


def day_sheet(person: Person, now: datetime, *, demo: bool) -> EmergencySheet:
    """The emergency sheet of one technician's day."""
    day = local_today(person, now)
    needed = {line.product for load in own_load_page(person, day).loads for line in load.lines}
    found = named(needed, day, "On today's load list") | aboard(person)
    about = f"{person.full_name}, {short_day(day, True)}"
    return sheet_of(person.branch, found, about=about, now=now, none=NOTHING, demo=demo)
