"""Figures of renewals: counted by hand, and day by day."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.renewal_figures import (
    MonthFigures,
    RenewalFact,
    bare_of_property,
    by_month,
    declined_reasons,
)

START = date(2026, 1, 1)


def test_a_month_by_hand() -> None:
    lapse = date(2026, 5, 20)
    facts = [
        RenewalFact(lapse, date(2026, 5, 1)),  # 19 days before
        RenewalFact(lapse, date(2026, 5, 19)),  # 1 day before
        RenewalFact(lapse, lapse),  # on the day it lapsed: not before
        RenewalFact(lapse, None),
        RenewalFact(lapse, None, "Sells the house"),
        RenewalFact(date(2026, 6, 1), None),
    ]
    may, june = by_month(facts)
    assert may == MonthFigures(date(2026, 5, 1), 5, in_time=2, late=1, declined=1, ahead=1)
    assert may.never == 1
    assert (june.month, june.renewals, june.ahead) == (date(2026, 6, 1), 1, None)


def test_reasons_by_how_often() -> None:
    said = ["Price", "Sells the house", "Price", None]
    facts = [RenewalFact(START, None, why) for why in said]
    assert declined_reasons(facts) == [("Price", 2), ("Sells the house", 1)]


def test_sixty_days_on_a_cycle_of_ninety_one() -> None:
    """60 of 91 days are covered, 31 bare (common practice, no source; derived)."""
    window = (START, START + timedelta(days=60))
    assert bare_of_property({1: [window]}, START, START + timedelta(days=91)) == 31


@given(
    st.lists(st.lists(st.tuples(st.integers(-40, 60), st.integers(1, 40)), max_size=4), max_size=4)
)
def test_bare_days_as_a_count_day_by_day(spans: list[list[tuple[int, int]]]) -> None:
    zones = {
        number: [
            (START + timedelta(days=first), START + timedelta(days=first + length))
            for first, length in some
        ]
        for number, some in enumerate(spans)
    }
    end = START + timedelta(days=60)
    expected = 0
    for n in range(60):
        day = START + timedelta(days=n)
        expected += any(
            some
            and day >= min(one for one, _ in some)
            and not any(first <= day < last for first, last in some)
            for some in zones.values()
        )
    assert bare_of_property(zones, START, end) == expected
