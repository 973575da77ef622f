"""Qualification of noncertified applicators on a day (40 CFR 171.201)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.training import Qualified, Training, a_year_after, newest, qualified

MET = date(2026, 3, 2)
UNTIL = date(2027, 3, 2)
DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@pytest.mark.parametrize(
    ("day", "after"),
    [
        (date(2026, 3, 2), date(2027, 3, 2)),
        (date(2024, 2, 29), date(2025, 2, 28)),  # house rule for February 29
        (date(2023, 2, 28), date(2024, 2, 28)),
    ],
)
def test_a_year_after(day: date, after: date) -> None:
    assert a_year_after(day) == after


@pytest.mark.parametrize(
    ("trainings", "on", "state"),
    [
        # 171.201(e), read: a record of each noncertified applicator
        ((), MET, Qualified.NO_RECORD),
        ((Training(MET, UNTIL),), MET - timedelta(1), Qualified.NO_RECORD),
        ((Training(MET, UNTIL),), MET, Qualified.IN_FORCE),
        # within the previous twelve months: from memory, unverified
        ((Training(MET, UNTIL),), UNTIL, Qualified.IN_FORCE),
        ((Training(MET, UNTIL),), UNTIL + timedelta(1), Qualified.OVER),
        ((Training(MET, date(2099, 1, 1)),), UNTIL + timedelta(1), Qualified.OVER),
        ((Training(MET, date(2026, 6, 1)),), date(2026, 6, 2), Qualified.OVER),
        # any one that holds will do
        ((Training(MET, date(2026, 6, 1)), Training(MET, UNTIL)), UNTIL, Qualified.IN_FORCE),
        ((Training(MET, UNTIL), Training(UNTIL, UNTIL)), UNTIL, Qualified.IN_FORCE),
    ],
)
def test_qualified(trainings: tuple[Training, ...], on: date, state: Qualified) -> None:
    assert qualified(trainings, on) == state


@given(st.lists(st.builds(Training, DAYS, DAYS), max_size=6), DAYS)
def test_a_brute_look_at_every_training_says_the_same(trainings: list[Training], on: date) -> None:
    in_force = any(one.met_on <= on <= one.ends_on for one in trainings)
    assert (qualified(trainings, on) == Qualified.IN_FORCE) == in_force
    assert (newest(trainings, on) is None) == all(one.met_on > on for one in trainings)
