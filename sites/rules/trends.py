"""How many things happened in each of the last months."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from accounts.rules.day_words import MONTHS

SHOWN_MONTHS = 12


@dataclass(frozen=True)
class MonthCount:
    """One calendar month and what was counted in it; `findings` None: not kept."""

    year: int
    month: int
    sightings: int
    findings: int | None = None

    @property
    def words(self) -> str:
        """The month as "Nov 2026"."""
        return f"{MONTHS[self.month - 1]} {self.year}"


def by_month(
    sightings: Iterable[date], findings: Iterable[date] | None, today: date
) -> tuple[MonthCount, ...]:
    """The last twelve calendar months, the oldest first, today's the last; none is left out.

    Days outside of them are not counted. `findings` None says that none are kept.
    """
    seen = Counter((day.year, day.month) for day in sightings)
    found = None if findings is None else Counter((day.year, day.month) for day in findings)
    return tuple(
        MonthCount(*key, seen[key], None if found is None else found[key])
        for key in _last_months(today)
    )


def first_shown(today: date) -> date:
    """The first day that is counted."""
    return date(*_last_months(today)[0], 1)


def _last_months(today: date) -> list[tuple[int, int]]:
    last = today.year * 12 + today.month - 1
    return [_year_and_month(one) for one in range(last - SHOWN_MONTHS + 1, last + 1)]


def _year_and_month(number: int) -> tuple[int, int]:
    """Year and month (1 to 12) of months counted from the year 0."""
    year, month = divmod(number, 12)
    return year, month + 1
