"""Codes of logbooks, what a sighting must say, and counts by month."""

from __future__ import annotations

import math
import uuid
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.sightings import NewSighting, checked
from sites.rules.site_codes import ALPHABET, CODE_LENGTH, code_of, printed, typed
from sites.rules.trends import by_month, first_shown

TODAY = date(2026, 11, 25)
PICKS = st.lists(st.integers(0, len(ALPHABET) - 1), min_size=CODE_LENGTH, max_size=CODE_LENGTH)


def test_a_code_is_not_guessed() -> None:
    assert CODE_LENGTH * math.log2(len(set(ALPHABET))) > 49  # house rule: at least 40 bits
    assert not set("01ILO") & set(ALPHABET)


@settings(max_examples=50)
@given(PICKS)
def test_what_is_printed_is_what_is_typed(picks: list[int]) -> None:
    code = code_of(picks)
    assert typed(printed(code)) == typed(printed(code).lower()) == typed(f" {code} ") == code


@settings(max_examples=50)
@given(st.text(max_size=100))
def test_whatever_is_typed_is_a_code_or_nothing(text: str) -> None:
    code = typed(text)
    assert code == "" or (len(code) == CODE_LENGTH and set(code) <= set(ALPHABET))


def test_too_few_picks_are_an_error() -> None:
    with pytest.raises(ValueError, match="10 picks"):
        code_of([1, 2])


def told(**fields: object) -> NewSighting:
    values = {
        "what": " Ants\n ",
        "spot": "Kitchen",
        "seen_on": TODAY,
        "how_many": "few",
        "once": uuid.UUID(int=1),
    }
    return NewSighting(**{**values, **fields})  # type: ignore[arg-type]


def test_lines_are_tidied() -> None:
    assert checked(told(name="\x00 Pat "), TODAY) == told(what="Ants", name="Pat")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("what", ""),
        ("what", "x" * 201),
        ("spot", "\x01"),
        ("seen_on", TODAY + timedelta(days=1)),
        ("seen_on", TODAY - timedelta(days=367)),
        ("how_many", "dozens"),
        ("seen_at", "x" * 41),
        ("name", "x" * 81),
    ],
)
def test_what_cannot_be_read_is_refused_at_its_field(field: str, value: object) -> None:
    with pytest.raises(Refused) as refused:
        checked(told(**{field: value}), TODAY)
    assert refused.value.facts["field"] == field


def test_twelve_months_with_empty_ones_and_the_turn_of_the_year() -> None:
    days = [date(2025, 11, 30), date(2025, 12, 1), date(2026, 1, 31), TODAY, TODAY]
    counts = by_month(days, None, TODAY)
    assert [one.words for one in counts[:2]] == ["Dec 2025", "Jan 2026"]
    assert [one.sightings for one in counts] == [1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 2]
    assert {one.findings for one in counts} == {None}
    assert by_month([], [TODAY], TODAY)[-1].findings == 1
    assert first_shown(TODAY) == date(2025, 12, 1) and first_shown(date(2026, 12, 31)).month == 1


@settings(max_examples=50)
@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.lists(st.integers(0, 330), max_size=20))
def test_every_day_of_the_last_eleven_months_is_counted(today: date, ago: list[int]) -> None:
    days = [today - timedelta(days=one) for one in ago]
    counts = by_month(days, None, today)
    assert len(counts) == 12 and sum(one.sightings for one in counts) == len(days)
    assert (counts[-1].year, counts[-1].month) == (today.year, today.month)
