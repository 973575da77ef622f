"""Days, hours and what is left of them, as the office reads them."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from accounts.rules.day_words import clock as clock
from accounts.rules.day_words import short_day


def full_day(day: date) -> str:
    """A day as "Nov 12, 2026"."""
    return short_day(day, with_year=True)


def week_day(day: date) -> str:
    """A day with its weekday: "Thu, Nov 12, 2026"."""
    return f"{day:%a}, {full_day(day)}"


def hours(opens: datetime | time, closes: datetime | time) -> str:
    """Two hours as "9:00 to 11:00 AM", both halves written when noon lies between them."""
    first, last = clock(opens), clock(closes)
    same_half = first[-2:] == last[-2:]
    return f"{first[:-3] if same_half else first} to {last}"


def local(moment: datetime, time_zone: str) -> datetime:
    """The same instant on the wall clock of `time_zone`, an IANA name."""
    return moment.astimezone(ZoneInfo(time_zone))


def left(days: int) -> str:
    """What is left of a protection: "6 days left", "lapses today", "lapsed 3 days ago"."""
    if days > 0:
        return f"{count(days, 'day')} left"
    return "lapses today" if days == 0 else f"lapsed {count(-days, 'day')} ago"


def left_short(days: int) -> str:
    """The same in a narrow column, as the residual line says it: "6 d left", "6 d lapsed"."""
    if days > 0:
        return f"{days} d left"
    return "lapses today" if days == 0 else f"{-days} d lapsed"


def count(number: int, word: str, many: str = "") -> str:
    """A number and its noun: "1 day", "2 days", "1,204 properties"."""
    return f"{number:,} {word if number == 1 else many or word + 's'}"
