"""First in first out and the words of a lot's last day, without rows."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.stock import expiry_words, first_in_first_out

QUANTITIES = st.integers(min_value=-(10**9), max_value=10**9)
TODAY = date(2026, 11, 25)


@given(st.integers(min_value=0, max_value=10**9), st.lists(QUANTITIES, min_size=1, max_size=8))
def test_what_is_taken_is_what_was_wanted(wanted: int, quantities: list[int]) -> None:
    on_hand = list(enumerate(quantities))
    taken = first_in_first_out(wanted, on_hand)
    assert sum(one.quantity for one in taken) == wanted
    # every lot before the last one taken from is empty or was below zero before
    for one in taken[:-1]:
        assert one.quantity == quantities[one.lot_id] > 0
    assert [one.lot_id for one in taken] == sorted(one.lot_id for one in taken)


def test_the_missing_part_stays_on_the_last_lot() -> None:
    taken = first_in_first_out(10, [(7, 4), (8, 3), (9, -2)])
    assert [(one.lot_id, one.quantity) for one in taken] == [(7, 4), (8, 3), (9, 3)]
    assert first_in_first_out(10, []) == ()


@pytest.mark.parametrize(
    ("days", "state", "words"),
    [
        (-1, "refused", "Expired 1 day ago"),
        (-30, "refused", "Expired 30 days ago"),
        (0, "check", "Expires in 0 days"),
        (1, "check", "Expires in 1 day"),
        (60, "check", "Expires in 60 days"),
        (61, "ok", "In date"),
    ],
)
def test_the_last_day_in_words(days: int, state: str, words: str) -> None:
    assert expiry_words(TODAY + timedelta(days=days), TODAY) == (state, words)


def test_a_lot_without_a_last_day_does_not_expire() -> None:
    assert expiry_words(None, TODAY) == ("ok", "no expiry given")
