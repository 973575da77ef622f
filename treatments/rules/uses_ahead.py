"""Planned uses counted ahead: what would be one too many in a year is never proposed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from accounts.rules.day_words import short_day


@dataclass(frozen=True)
class YearUses:
    """A product in a zone: the most uses a calendar year (label), days of those made and booked.

    `holds_days` is how long one use held last.
    """

    product_name: str
    most: int
    made_on: tuple[date, ...]
    holds_days: int

    def made_in(self, year: int) -> int:
        return sum(day.year == year for day in self.made_on)


def is_used_up(uses: YearUses, day: date) -> bool:
    """Whether one more use on `day` would be more than the label allows in that calendar year."""
    return uses.made_in(day.year) >= uses.most


def next_day_allowed(uses: YearUses, day: date) -> date:
    """The first day from `day` on with a use left: that day, or January 1 after it."""
    return date(day.year + 1, 1, 1) if is_used_up(uses, day) else day


def uses_words(uses: YearUses, day: date) -> str:
    """What a use on `day` would be: "use 3 of 4 this year, next after that Mar 12".

    The day after that is a plan, not a promise: the same product holding as long as it did last.
    """
    if is_used_up(uses, day):
        opens = short_day(next_day_allowed(uses, day), True)
        return (
            f"{uses.made_in(day.year)} of {uses.most} uses of {uses.product_name} in {day.year} "
            f"are made or booked: none is proposed before {opens}"
        )
    number = uses.made_in(day.year) + 1
    return f"use {number} of {uses.most} in {day.year}, {_after(uses, day, number)}"


def _after(uses: YearUses, day: date, number: int) -> str:
    again = day + timedelta(days=uses.holds_days)
    if again.year == day.year and number >= uses.most:
        again = date(day.year + 1, 1, 1)
        return f"none left after that before {short_day(again, True)}"
    return f"next after that {short_day(again, with_year=again.year != day.year)}"
