"""Days in words."""

from __future__ import annotations

from datetime import date

import pytest

from accounts.rules.day_words import short_day


@pytest.mark.parametrize(
    ("day", "words", "with_year"),
    [
        (date(2026, 1, 5), "Jan 5", "Jan 5, 2026"),
        (date(2024, 2, 29), "Feb 29", "Feb 29, 2024"),
        (date(2026, 12, 31), "Dec 31", "Dec 31, 2026"),
    ],
)
def test_days_in_words(day: date, words: str, with_year: str) -> None:
    assert (short_day(day), short_day(day, True)) == (words, with_year)
