"""Continuing-education credits: what a cycle wants, by category, and what is still missing.

How many credits a cycle wants, and of which categories, is the state's own list; it is entered by
the firm with the cycle. That credits count in the cycle in which the course was taken, both ends
included: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class Credit:
    """Credits of one course in one category, on the day it was taken."""

    category: str
    credits: Decimal
    on: date


@dataclass(frozen=True)
class Cycle:
    """What must be earned from `starts_on` through `ends_on`; empty category: every one."""

    category: str
    starts_on: date
    ends_on: date
    needed: Decimal

    def counts(self, credit: Credit) -> bool:
        """Whether a course counts in the cycle: by its day and its category."""
        is_alike = self.category.casefold() in ("", credit.category.casefold())
        return is_alike and self.starts_on <= credit.on <= self.ends_on


def earned(cycle: Cycle, credits: Iterable[Credit]) -> Decimal:
    """The credits of a cycle's category earned inside it."""
    return sum((one.credits for one in credits if cycle.counts(one)), Decimal(0))


def missing(cycle: Cycle, credits: Iterable[Credit]) -> Decimal:
    """The credits that a cycle still wants; never below zero."""
    return max(cycle.needed - earned(cycle, credits), Decimal(0))


def credit_words(number: Decimal) -> str:
    """Credits as people write them: 1 credit, 2.5 credits, 10 credits."""
    plain = f"{number.normalize():f}"
    return f"{plain} credit{'' if number == 1 else 's'}"
