"""Closed periods: nothing dated inside one is changed until it is reopened with a reason."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum

from accounts.refusals import Refused


def is_closed(day: date, closed_through: date | None) -> bool:
    """Whether a day lies in a closed period; the last day of the period is inside."""
    return closed_through is not None and day <= closed_through


class Standing(StrEnum):
    """How much of some days is closed."""

    CLOSED = "closed"
    IN_PART = "in_part"
    OPEN = "open"


def standing(since: date, until: date, closed_through: date | None) -> Standing:
    """Whether days from one to another, both inside, are closed, in part or not at all."""
    if is_closed(until, closed_through):
        return Standing.CLOSED
    return Standing.IN_PART if is_closed(since, closed_through) else Standing.OPEN


def standing_words(found: Mapping[str, tuple[Standing, date | None]]) -> str:
    """How each branch stands, by name, in one sentence part; one word where all are the same."""
    if {one for one, _ in found.values()} == {Standing.CLOSED}:
        return "closed; nothing in these days changes without a reopening"
    if {one for one, _ in found.values()} <= {Standing.OPEN}:
        return "not closed yet; records may still come or be corrected"
    return "; ".join(f"{name}: {_one(*how)}" for name, how in sorted(found.items()))


def _one(how: Standing, through: date | None) -> str:
    if how is Standing.IN_PART and through is not None:
        return f"closed through {through:%b %-d, %Y}, open after it"
    return "closed" if how is Standing.CLOSED else "not closed yet"


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
