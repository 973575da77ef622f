"""Windows: factors only shorten, the interval only limits the return (house rule)."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from treatments.rules.residual import (
    Factors,
    days_before_floor,
    rain_factor,
    window,
    window_days,
)

MAY_12 = date(2026, 5, 12)


def test_ninety_days() -> None:
    """Common practice, no source: 90 days of residual."""
    found = window(MAY_12, 90)
    assert (found.days, found.expires_on) == (90, date(2026, 8, 10))
    assert found.sentence == "90 d label claim from May 12, lapses Aug 10"


def test_rain_and_surface() -> None:
    """Factors, compared before the floor, are house rules on published ratios (read).

    Rain: PLoS ONE 15(4):e0231251, 90 days dry and 42 with 465 mm. Surface: PMC4392635, 42 to 56
    days on cement and more than 152 on wood.
    """
    wet = Factors(rain=rain_factor(Decimal(465)))
    assert days_before_floor(90, wet) == Decimal("42.3")
    assert window_days(90, wet) == 42
    assert rain_factor(Decimal(0)) == 1
    assert rain_factor(Decimal("232.5")) == Decimal("0.735")  # half the rain, half of 0.53
    assert window_days(60, Factors(surface=Decimal("0.35"))) == 21


def test_interval_limits_only_the_return() -> None:
    """Derived by the calendar: Mar 1 and 21 days is Mar 22; the claim stays."""
    found = window(date(2026, 3, 1), 14, 21)
    assert found.opens_on == date(2026, 3, 22)
    assert found.expires_on == date(2026, 3, 15)


def test_a_shortened_claim_says_so() -> None:
    found = window(MAY_12, 90, factors=Factors(rain=Decimal("0.5")))
    assert found.sentence == "90 d label claim, 45 d here from May 12, lapses Jun 26"
    assert "May 12, 2026" in window(MAY_12, 90, with_year=True).sentence


factor = st.decimals(Decimal(0), Decimal(3), places=3)


@given(st.integers(0, 3650), factor, factor, factor, factor)
def test_a_claim_is_never_raised(
    claim: int, surface: Decimal, exposure: Decimal, rain: Decimal, heat: Decimal
) -> None:
    days = window_days(claim, Factors(surface, exposure, rain, heat))
    assert 0 <= days <= claim


def test_the_longest_claim_counts_whole() -> None:
    assert window_days(3650) == 3650


@pytest.mark.parametrize("claim", [-1, 3651])
def test_refused_claims(claim: int) -> None:
    with pytest.raises(Refused, match="not on any label"):
        window(MAY_12, claim)


def test_refused_factor() -> None:
    with pytest.raises(Refused, match="below zero"):
        window_days(90, Factors(heat=Decimal("-0.1")))
