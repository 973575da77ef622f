"""Uses of a calendar year counted ahead; the days are worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.uses_ahead import YearUses, is_used_up, next_day_allowed, uses_words

MADE = tuple(date(2026, month, 5) for month in (2, 5, 8, 11))


def uses(made: int, holds_days: int = 90) -> YearUses:
    return YearUses("Demonstration A SC", 4, MADE[:made], holds_days)


@pytest.mark.parametrize(
    ("made", "day", "words"),
    [
        # 90 days from May 1 are July 30: 30 of May, 30 of June, 30 of July
        (1, date(2026, 5, 1), "use 2 of 4 in 2026, next after that Jul 30"),
        # 90 days from December 12 are March 12: 19 of December, 31, 28, 12 of March
        (2, date(2026, 12, 12), "use 3 of 4 in 2026, next after that Mar 12, 2027"),
        # 90 days from August 3 are November 1 of the same year: no use is left then
        (3, date(2026, 8, 3), "use 4 of 4 in 2026, none left after that before Jan 1, 2027"),
        (
            4,
            date(2026, 11, 28),
            "4 of 4 uses of Demonstration A SC in 2026 are made or booked: "
            "none is proposed before Jan 1, 2027",
        ),
        (4, date(2027, 1, 1), "use 1 of 4 in 2027, next after that Apr 1"),
    ],
)
def test_words(made: int, day: date, words: str) -> None:
    assert uses(made).made_in(2026) == made
    assert uses_words(uses(made), day) == words


@given(
    st.lists(st.dates(date(2025, 1, 1), date(2027, 12, 31)), max_size=12),
    st.integers(1, 6),
    st.dates(date(2026, 1, 1), date(2026, 12, 31)),
)
def test_a_use_on_the_day_proposed_is_never_one_too_many(
    made: list[date], most: int, day: date
) -> None:
    known = YearUses("X", most, tuple(one for one in made if one <= day), 30)
    on = next_day_allowed(known, day)
    assert sum(one.year == on.year for one in known.made_on) + 1 <= most
    # and no day before it, from the day asked on, would do
    assert on == day or is_used_up(known, on - timedelta(days=1))
