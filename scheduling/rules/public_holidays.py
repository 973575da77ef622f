"""Public holidays of a state, from the `holidays` library."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import holidays


@lru_cache(maxsize=64)
def _calendar(state: str) -> holidays.HolidayBase:
    try:
        return holidays.country_holidays("US", subdiv=state)
    except NotImplementedError:
        return holidays.country_holidays("US")


def holiday_name(day: date, state: str) -> str:
    """The public holiday of a day in a state (two letters), empty where it is none.

    A state that the library does not know has the federal ones.
    """
    return str(_calendar(state).get(day) or "")
