"""Day length, degree days, flight days and the books-by date against figures from outside."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from accounts.refusals import Refused
from scheduling.rules.season import (
    Reading,
    Season,
    day_length,
    degree_days,
    degree_days_since,
    first_day_below,
    flight_days,
    is_withdrawn,
    season_of,
    treat_before,
)
from scheduling.rules.season_settings import (
    SETTINGS,
    SettingRow,
    celsius,
    checked_value,
    month_day,
    numbers_on,
)

NUMBERS = numbers_on([], date(2026, 9, 1))
DAYS = ((8, 1), (8, 15), (9, 1), (9, 15), (9, 22), (10, 1), (10, 15), (11, 1))
# the CBM formula (Forsythe and others 1995; formula from memory) with p = 0.8333, 2025, hours
LENGTHS = {
    35: (13.93, 13.52, 12.95, 12.45, 12.20, 11.87, 11.36, 10.78),
    40: (14.30, 13.80, 13.12, 12.52, 12.22, 11.82, 11.22, 10.52),
    45: (14.74, 14.14, 13.32, 12.61, 12.24, 11.78, 11.05, 10.22),
}


@pytest.mark.parametrize("latitude", sorted(LENGTHS))
def test_day_length_is_that_of_the_table(latitude: int) -> None:
    """Two formulas that differ by at most two minutes; 0.03 h is 1.8."""
    for (month, day), hours in zip(DAYS, LENGTHS[latitude], strict=True):
        assert day_length(latitude, date(2025, month, day)) == pytest.approx(hours, abs=0.03)


def test_day_length_of_the_equinox_at_forty_degrees() -> None:
    assert day_length(40, date(2025, 9, 22)) == pytest.approx(12.22, abs=0.02)


@pytest.mark.parametrize(
    ("latitude", "hours", "day"),
    [
        (35, 13.5, (8, 16)), (35, 13.0, (8, 31)), (35, 12.5, (9, 14)), (35, 12.0, (9, 28)),
        (40, 13.5, (8, 23)), (40, 13.0, (9, 4)), (40, 12.5, (9, 16)), (40, 12.0, (9, 27)),
        (45, 13.5, (8, 29)), (45, 13.0, (9, 8)), (45, 12.5, (9, 18)), (45, 12.0, (9, 27)),
        (40, 14.25, (8, 3)), (45, 14.25, (8, 13)), (45, 15.0, (7, 26)),
    ],
)  # fmt: skip
def test_the_first_short_day_is_that_of_the_table(
    latitude: int, hours: float, day: tuple[int, int]
) -> None:
    """The same table; one day either way, which is a minute or two of daylight."""
    found = first_day_below(latitude, hours, 2025)
    assert found is not None and abs((found - date(2025, *day)).days) <= 1


def test_where_no_day_is_so_long() -> None:
    assert first_day_below(35, 15, 2025) is None  # the table: never reaches 15 h


@pytest.mark.parametrize(
    ("latitude", "day", "hours"),
    [(70, (6, 21), 24), (70, (12, 21), 0), (-70, (6, 21), 0), (-70, (12, 21), 24)],
)
def test_polar_day_and_night(latitude: int, day: tuple[int, int], hours: float) -> None:
    assert day_length(latitude, date(2026, *day)) == hours


@settings(max_examples=50)
@given(st.floats(-50, 50), st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_day_length_is_a_length_of_a_day(latitude: float, day: date) -> None:
    """North and mirrored south share some 24 h and the twice 7 to 14 minutes of refraction."""
    here, mirrored = day_length(latitude, day), day_length(-latitude, day)
    assert 0 < here < 24 and 24 < here + mirrored < 24.7


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(50, 80, 13.3883), (40, 70, 6.4837), (60, 85, 20.7), (45, 65, 4.9475), (30, 50, 0)],
)
def test_single_sine(low: float, high: float, expected: float) -> None:
    """Derived for the lower threshold 51.8 F of the elm leaf beetle (UC IPM), no upper one."""
    assert degree_days(low, high, 51.8) == pytest.approx(expected, abs=5e-5)


def test_single_sine_in_either_scale() -> None:
    """The same day in C; and UC IPM's 700 DD F of the elm leaf beetle are 388.9 DD C."""
    assert degree_days(10, celsius(80), 11) == pytest.approx(7.4379, abs=5e-5)
    assert celsius(51.8) == pytest.approx(11.0)
    assert pytest.approx(388.9, abs=0.05) == 700 / 1.8


def _brute_sine(low: float, high: float, threshold: float, steps: int = 20_000) -> float:
    mean, reach = (low + high) / 2, (high - low) / 2
    temperatures = (mean + reach * sin(2 * pi * (n + 0.5) / steps) for n in range(steps))
    return sum(max(0.0, one - threshold) for one in temperatures) / steps


@settings(max_examples=25, deadline=None)
@given(st.floats(-30, 40), st.floats(0.5, 30), st.floats(-10, 30))
def test_single_sine_is_the_area_over_the_threshold(
    low: float, reach: float, threshold: float
) -> None:
    """Against adding up the sine in small steps."""
    high = low + reach
    summed = _brute_sine(low, high, threshold)
    assert degree_days(low, high, threshold) == pytest.approx(summed, abs=1e-3)


def test_degree_days_count_each_day_once_and_say_what_is_missing() -> None:
    march = [Reading(date(2028, 2, 28) + timedelta(days=n), 12, 20) for n in range(4)]
    total, missing = degree_days_since(march, date(2028, 2, 29), date(2028, 3, 5), 11)
    assert total == pytest.approx(15) and missing == 3  # Feb 29, Mar 1, Mar 2 of 6 days


def autumn(year: int, first: date, cloud: int | None = 10) -> list[Reading]:
    """Cool days from Sep 1 with one warm day; no frost."""
    days = [date(year, 9, 1) + timedelta(days=n) for n in range(76)]
    return [Reading(day, 5, 22 if day == first else 12, cloud) for day in days]


@pytest.mark.parametrize(
    ("changes", "latitude", "found"),
    [
        ({}, 40, True),
        ({"high_c": 18.0}, 40, True),  # exactly warm, 6 warmer than before
        ({"high_c": 17.9}, 40, False),
        ({"cloud_percent": 39}, 40, True),
        ({"cloud_percent": 40}, 40, False),
        ({"cloud_percent": None}, 40, True),
        ({}, 32.9, False),
        ({}, 33, True),
    ],
)
def test_a_warm_sunny_day_after_cool_ones(
    changes: dict[str, float], latitude: float, found: bool
) -> None:
    """House rule, each limit on either side."""
    day = date(2025, 10, 10)
    rows = [replace(one, **changes) if one.day == day else one for one in autumn(2025, day)]
    assert flight_days(rows, latitude, 2025, NUMBERS) == ([day] if found else [])


def test_before_short_days_only_a_frost_arms() -> None:
    day = date(2025, 9, 8)  # 12.8 h at 40 N
    rows = autumn(2025, day)
    assert flight_days(rows, 40, 2025, NUMBERS) == []
    frost = [replace(one, low_c=1) if one.day == date(2025, 9, 4) else one for one in rows]
    assert flight_days(frost, 40, 2025, NUMBERS) == [day]


def test_the_days_before_must_be_read_and_cooler() -> None:
    day = date(2025, 10, 10)
    rows = autumn(2025, day)
    assert (
        flight_days([one for one in rows if one.day != date(2025, 10, 8)], 40, 2025, NUMBERS) == []
    )
    warm = [replace(one, high_c=18.1) if one.day < day else one for one in rows]
    assert flight_days(warm, 40, 2025, NUMBERS) == []
    just = [replace(one, high_c=18.0) if one.day < day else one for one in rows]
    assert flight_days(just, 40, 2025, NUMBERS) == [day]


def test_books_by_is_three_weeks_before_the_middle_of_the_first_days() -> None:
    """Oct 2, Oct 10 and Oct 20: Oct 10 less 21 days is Sep 19 (derived)."""
    firsts = (date(2023, 10, 20), date(2024, 10, 2), date(2025, 10, 10))
    rows = [one for first in firsts for one in autumn(first.year, first)]
    found = season_of(rows, 40, date(2026, 6, 1), NUMBERS)
    assert found is not None
    assert (found.flight_on, found.books_by) == (date(2026, 10, 10), date(2026, 9, 19))
    assert "3 earlier autumns" in found.because


@pytest.mark.parametrize(
    ("latitude", "today", "books_by"),
    [
        (40, date(2026, 6, 1), date(2026, 9, 15)),
        (None, date(2026, 6, 1), date(2026, 9, 15)),
        (40, date(2026, 11, 15), date(2026, 9, 15)),
        (40, date(2026, 11, 16), date(2027, 9, 15)),  # the season is over: the next one
        (40, date(2028, 2, 29), date(2028, 9, 15)),
        (40, date(2026, 12, 31), date(2027, 9, 15)),
    ],
)
def test_the_default_day(latitude: float | None, today: date, books_by: date) -> None:
    found = season_of([], latitude, today, NUMBERS)
    assert found is not None and found.books_by == books_by


def test_the_default_day_moves_with_the_light() -> None:
    """The table: 12.5 h on Sep 14 at 35 N, Sep 16 at 40 N, Sep 18 at 45 N."""
    south, north = (season_of([], at, date(2025, 6, 1), NUMBERS) for at in (35, 45))
    assert south is not None and south.books_by == date(2025, 9, 13)
    assert north is not None and north.books_by == date(2025, 9, 17)
    assert season_of([], 30, date(2025, 6, 1), NUMBERS) is None


SEASON = Season(
    date(2026, 9, 1), date(2026, 9, 15), date(2026, 10, 6), date(2026, 11, 15), "default"
)


@pytest.mark.parametrize(
    ("expires_on", "today", "expected"),
    [
        (date(2026, 10, 20), date(2026, 9, 1), date(2026, 10, 5)),  # lapses in the season
        (date(2026, 11, 15), date(2026, 9, 1), date(2026, 10, 5)),  # its last day is bare
        (date(2026, 11, 16), date(2026, 9, 1), None),  # holds through
        (date(2026, 8, 1), date(2026, 9, 1), date(2026, 10, 5)),  # lapsed long ago
        (date(2026, 10, 20), date(2026, 10, 6), None),  # they fly: too late to come before
    ],
)
def test_before_flight(expires_on: date, today: date, expected: date | None) -> None:
    assert treat_before(expires_on, today, SEASON) == expected
    assert treat_before(expires_on, today, None) is None


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 10, 31), False), (date(2026, 11, 1), True), (date(2026, 12, 31), True),
        (date(2027, 1, 1), True), (date(2028, 2, 29), True), (date(2027, 3, 31), True),
        (date(2027, 4, 1), False),
    ],
)  # fmt: skip
def test_treating_is_withdrawn_over_the_new_year(day: date, expected: bool) -> None:
    assert is_withdrawn(day, NUMBERS) is expected


def test_a_number_counts_from_its_day() -> None:
    rows = [
        SettingRow("lead_days", "30", date(2026, 5, 1), pk=2),
        SettingRow("lead_days", "14", date(2026, 3, 1), pk=3),
    ]
    days = (date(2026, 2, 28), date(2026, 3, 1), date(2026, 5, 1))
    assert [numbers_on(rows, day).lead_days for day in days] == [21, 14, 30]


@pytest.mark.parametrize(
    ("code", "text"),
    [("lead_days", "x"), ("lead_days", "2.5"), ("lead_days", "91"), ("season_starts", "13-01"),
     ("season_starts", "0901"), ("warm_c", "nan"), ("warm_c", "-1"), ("nothing", "1")],
)  # fmt: skip
def test_a_value_that_cannot_be_is_refused(code: str, text: str) -> None:
    with pytest.raises(Refused):
        checked_value(code, text)


def test_every_first_value_is_one_that_could_be_entered() -> None:
    for one in SETTINGS:
        assert checked_value(one.code, one.first) == one.first
    assert month_day("02-29") == (2, 29)
    assert numbers_on(
        [SettingRow("season_ends", "02-29", date(2026, 1, 1))], date(2026, 2, 1)
    ).season(2027)[1] == date(2027, 2, 28)
