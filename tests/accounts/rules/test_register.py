"""When the register warns: 90, 60, 30 and 7 days ahead (design/9-trade.md 17, house rule)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.register import (
    Band,
    PaperKind,
    RegisterLine,
    band,
    begins_on,
    left_words,
    soonest,
)

UNTIL = date(2027, 2, 28)
LINE = RegisterLine(
    PaperKind.LICENSE, "license:1", 1, "Columbus", "Terry Technician", "License OH 7", UNTIL
)
DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@pytest.mark.parametrize(
    ("left", "found", "words"),
    [
        (91, Band.LATER, "91 d left"),
        (90, Band.DAYS_90, "90 d left"),
        (61, Band.DAYS_90, "61 d left"),
        (60, Band.DAYS_60, "60 d left"),
        (31, Band.DAYS_60, "31 d left"),
        (30, Band.DAYS_30, "30 d left"),
        (8, Band.DAYS_30, "8 d left"),
        (7, Band.DAYS_7, "7 d left"),
        (0, Band.DAYS_7, "last day today"),
        (-1, Band.OVER, "1 d over"),
    ],
)
def test_bands(left: int, found: Band, words: str) -> None:
    today = UNTIL - timedelta(left)
    assert band(UNTIL, today) == found
    assert left_words(UNTIL, today) == words


@given(DAYS, DAYS, DAYS)
def test_a_later_day_is_never_in_a_farther_band(until: date, one: date, other: date) -> None:
    earlier, later = sorted((one, other))
    assert band(until, earlier) <= band(until, later)


@given(DAYS, DAYS)
def test_a_band_begins_on_its_first_day(until: date, today: date) -> None:
    found = band(until, today)
    if found == Band.LATER:
        return
    first = begins_on(found, until)
    assert first <= today
    assert band(until, first) == found > band(until, first - timedelta(1))


@pytest.mark.parametrize(
    ("left", "said"),
    [
        (90, "within 90 days, after Feb 28, 2027. Enter the renewed license as a new term."),
        (60, "within 60 days, after"),
        (30, "within 30 days, after"),
        (7, "this week, after"),
        (-1, "ran out after Feb 28, 2027. No visit can be booked under it"),
        (200, "holds through Feb 28, 2027."),
    ],
)
def test_the_sentence_grows_sharper(left: int, said: str) -> None:
    sentence = LINE.sentence(UNTIL - timedelta(left))
    assert sentence.startswith("Terry Technician: License OH 7, ") and said in sentence


def test_what_is_missing_is_said() -> None:
    line = replace(LINE, kind=PaperKind.EDUCATION, short="2 credits of 5 credits missing")
    assert "License OH 7, 2 credits of 5 credits missing, runs out" in line.sentence(UNTIL)


def test_a_line_may_warn_only_once_it_is_over() -> None:
    weekly = replace(LINE, kind=PaperKind.VEHICLE_CHECK, first_band=Band.OVER)
    assert weekly.band(UNTIL) == Band.LATER
    assert weekly.band(UNTIL + timedelta(1)) == Band.OVER


def test_the_soonest_comes_first() -> None:
    later = replace(LINE, until=UNTIL + timedelta(1), thing="license:2")
    other = replace(LINE, holder="Anna", thing="license:3")
    assert soonest([later, LINE, other]) == [other, LINE, later]
