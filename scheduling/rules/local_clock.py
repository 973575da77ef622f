"""Instants, and the wall clock of one place on one day, also on the days the clock is changed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def instant(day: date, at: time, time_zone: str) -> datetime:
    """The moment, in UTC, at which clocks in `time_zone` (an IANA name) show `at` on `day`.

    An hour that is shown twice is the first of the two.
    """
    return datetime.combine(day, at, ZoneInfo(time_zone)).astimezone(UTC)


def is_shown(day: date, at: time, time_zone: str) -> bool:
    """Whether clocks show this hour on that day; in spring one hour is left out."""
    return instant(day, at, time_zone).astimezone(ZoneInfo(time_zone)).time() == at


def second_of(moment: datetime, day: date, time_zone: str) -> int:
    """Seconds that pass from midnight of `day` in `time_zone` to the moment."""
    return int((moment - instant(day, time(), time_zone)).total_seconds())


def moment_at(second: int, day: date, time_zone: str) -> datetime:
    """The moment so many seconds after midnight of `day` in `time_zone`, in UTC."""
    return instant(day, time(), time_zone) + timedelta(seconds=second)
