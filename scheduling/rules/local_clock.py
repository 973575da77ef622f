"""Instants, and the wall clock of one place on one day, also on the days the clock is changed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from treatments.rules.applications import CLOCKS_DIFFER

YESTERDAYS = timedelta(hours=6)  # how far back a time later than now is yesterday's (house rule)
TIME_RULE = f"A time later than now is yesterday's, up to {YESTERDAYS.seconds // 3600} hours back."


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


def last_time(clock: time, now: datetime, zone: ZoneInfo) -> datetime | None:
    """The last moment at which clocks showed a time that somebody types of what is done.

    A time later than now is yesterday's where that is at most `YESTERDAYS` ago, else today's; of an
    hour shown twice it is the last that has come. None for an hour that the clocks left out.
    """
    today = now.astimezone(zone).date()
    shown = {day: _moments(day, clock, zone) for day in (today, today - timedelta(days=1))}
    past = [at for at in shown[today] if at <= now + CLOCKS_DIFFER]
    if past:
        return max(past).astimezone(zone)
    before = [at for at in shown[today - timedelta(days=1)] if now - at <= YESTERDAYS]
    found = max(before, default=None) or min(shown[today], default=None)
    return found.astimezone(zone) if found else None


def _moments(day: date, clock: time, zone: ZoneInfo) -> list[datetime]:
    """The moments, in UTC, at which clocks show a time on a day: none, one or two."""
    found = []
    for fold in (0, 1):
        at = datetime.combine(day, clock.replace(fold=fold), zone).astimezone(UTC)
        if at.astimezone(zone).replace(tzinfo=None) == datetime.combine(day, clock):
            found.append(at)
    return found
