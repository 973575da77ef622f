"""Days as people read them, the same on every floor and in every locale of the machine."""

from __future__ import annotations

from datetime import date, datetime, time

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def short_day(day: date, with_year: bool = False) -> str:
    """A day as "May 12", or "May 12, 2026"."""
    text = f"{MONTHS[day.month - 1]} {day.day}"
    return f"{text}, {day.year}" if with_year else text


def clock(moment: datetime | time) -> str:
    """An hour as "9:15 AM"; `moment` is already in the time zone of the place."""
    return f"{moment.hour % 12 or 12}:{moment:%M} {moment:%p}"


def days_ago(days: int) -> str:
    """Today, 1 day ago, 9 days ago."""
    if days == 0:
        return "today"
    return f"{days} day{'' if days == 1 else 's'} ago"
