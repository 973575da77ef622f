"""From when to when a treatment counts, by its label's claim.

House rule (DEVELOPERS.md, "What a window does"): the claim is only ever shortened, and the
interval between treatments limits only the return. Every factor is 1 until a manager sets another
with its reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal
from math import prod

from accounts.refusals import Refused
from accounts.rules.day_words import short_day

ONE = Decimal(1)
LONGEST_CLAIM = 3650


@dataclass(frozen=True)
class Factors:
    """What shortens a claim on one zone; each is 0 or more, 1 changes nothing."""

    surface: Decimal = ONE
    exposure: Decimal = ONE
    rain: Decimal = ONE
    heat: Decimal = ONE

    @property
    def product(self) -> Decimal:
        """All factors together, at most 1; refused when one is below zero."""
        each = (self.surface, self.exposure, self.rain, self.heat)
        if min(each) < 0:
            raise Refused("factor", "A factor is never below zero. Write 1 where nothing changes.")
        return min(ONE, prod(each, start=ONE))


@dataclass(frozen=True)
class Window:
    """One treatment's days: `opens_on` the label allows the return, `expires_on` it lapses."""

    applied_on: date
    claim_days: int
    days: int
    interval_days: int
    opens_on: date
    expires_on: date
    sentence: str


def window_days(claim: int, factors: Factors = Factors()) -> int:
    """Whole days of the claim that count, rounded down and never above the claim."""
    return int(days_before_floor(claim, factors).to_integral_value(ROUND_FLOOR))


def days_before_floor(claim: int, factors: Factors) -> Decimal:
    """claim × min(1, factors), refused for a claim below zero or above ten years."""
    if not 0 <= claim <= LONGEST_CLAIM:
        raise Refused(
            "residual", f"A residual claim of {claim} days is not on any label. Read it again."
        )
    return claim * factors.product


def window(
    applied_on: date,
    claim_days: int,
    interval_days: int = 0,
    factors: Factors = Factors(),
    *,
    with_year: bool = False,
) -> Window:
    """The window of one treatment.

    `claim_days` and `interval_days` are the label's; `with_year` writes the years in the
    sentence. House rule.
    """
    days = window_days(claim_days, factors)
    expires_on = applied_on + timedelta(days=days)
    shorter = f", {days} d here" if days < claim_days else ""
    sentence = (
        f"{claim_days} d label claim{shorter} from {short_day(applied_on, with_year)}, "
        f"lapses {short_day(expires_on, with_year)}"
    )
    opens_on = applied_on + timedelta(days=interval_days)
    return Window(applied_on, claim_days, days, interval_days, opens_on, expires_on, sentence)


def rain_factor(rain_mm: Decimal) -> Decimal:
    """House rule on figures of PLoS ONE 15(4):e0231251 (read): 465 mm leaves 42 of 90 days."""
    return ONE - Decimal("0.53") * min(ONE, rain_mm / 465)
