"""Closed periods: nothing dated inside one is changed until it is reopened with a reason."""

from __future__ import annotations

from datetime import date

from accounts.refusals import Refused


def is_closed(day: date, closed_through: date | None) -> bool:
    """Whether a day lies in a closed period; the last day of the period is inside."""
    return closed_through is not None and day <= closed_through


def refuse_closed(day: date, closed_through: date | None) -> None:
    """Refuse a change of what is dated inside a closed period."""
    if closed_through is not None and day <= closed_through:
        raise Refused(
            "period_closed",
            f"The log is closed through {closed_through:%b %-d, %Y}. "
            "A manager must reopen the period first.",
        )


def refuse_close(through: date, closed_through: date | None, today: date) -> None:
    """A period is closed once it is over, and only further than it is closed already."""
    if through >= today:
        raise Refused("period", "Only days that are over can be closed.", field="through")
    if closed_through is not None and through <= closed_through:
        raise Refused(
            "period",
            f"The log is closed through {closed_through:%b %-d, %Y} already. Choose a later day.",
            field="through",
        )


def refuse_reopen(from_day: date, closed_through: date | None) -> None:
    """A period is reopened from a day that is closed."""
    if not is_closed(from_day, closed_through):
        raise Refused("period", "This day is not closed. Choose a closed day.", field="from_day")
