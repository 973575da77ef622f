"""How long a record is kept: the longest of its rules, counted by the calendar.

Feb 29 becomes Mar 1 where the year has none, the longer reading (house rule).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from accounts.refusals import Refused

FIRM_DEFAULT_YEARS = 7  # covers every state profile read so far


def add_years(day: date, years: int) -> date:
    """The same day `years` later; February 29 becomes March 1, the longer reading."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)


def retain_until(anchor: date, years: Iterable[int], *, on_hold: bool = False) -> date | None:
    """The first day a record may be purged; None, never, while a hold is set.

    `anchor` is the day the rule counts from, `years` the period of each rule that applies: the
    longest holds. Refused: no rule at all, a period below zero.
    """
    periods = list(years)
    if not periods or min(periods) < 0:
        raise Refused("retention", "No retention rule was given. Use the firm's own years.")
    return None if on_hold else add_years(anchor, max(periods))


def never_shorter(kept: date | None, proposed: date | None) -> date | None:
    """A changed rule never shortens what an existing record was promised; None is never."""
    return None if kept is None or proposed is None else max(kept, proposed)
