"""Credits of a cycle; the sizes of cycles are invented, each state has its own."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.education import Credit, Cycle, credit_words, earned, missing

START, END = date(2024, 10, 1), date(2027, 9, 30)
CYCLE = Cycle("10a", START, END, Decimal(5))


@pytest.mark.parametrize(
    ("credit", "short"),
    [
        # both ends of the cycle count: common practice, no source
        (Credit("10a", Decimal(2), START), "3"),
        (Credit("10a", Decimal(2), END), "3"),
        (Credit("10a", Decimal(2), START - timedelta(1)), "5"),
        (Credit("10a", Decimal(2), END + timedelta(1)), "5"),
        (Credit("10A", Decimal("0.5"), START), "4.5"),
        (Credit("8", Decimal(2), START), "5"),
        (Credit("10a", Decimal(9), START), "0"),
    ],
)
def test_what_is_missing(credit: Credit, short: str) -> None:
    assert missing(CYCLE, [credit]) == Decimal(short)


def test_a_cycle_without_category_counts_every_one() -> None:
    every = Cycle("", START, END, Decimal(5))
    courses = [Credit("10a", Decimal(2), START), Credit("core", Decimal(1), END)]
    assert earned(every, courses) == 3
    assert missing(every, courses) == 2


@pytest.mark.parametrize(
    ("number", "words"),
    [("1", "1 credit"), ("2.50", "2.5 credits"), ("10", "10 credits"), ("0.5", "0.5 credits")],
)
def test_credits_in_words(number: str, words: str) -> None:
    assert credit_words(Decimal(number)) == words


CREDITS = st.builds(
    Credit,
    st.sampled_from(["10a", "8", "core"]),
    st.decimals("0.25", "9", places=2),
    st.dates(date(2024, 1, 1), date(2028, 1, 1)),
)


@given(st.lists(CREDITS, max_size=8), CREDITS)
def test_another_course_never_makes_more_missing(credits: list[Credit], more: Credit) -> None:
    before, after = missing(CYCLE, credits), missing(CYCLE, [*credits, more])
    assert 0 <= after <= before
    assert (before - after == 0) or CYCLE.counts(more)
