"""Distances against published values, drives against arithmetic by hand."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.travel import (
    EARTH_RADIUS_KM,
    UNKNOWN_DRIVE_S,
    Point,
    drive_seconds,
    great_circle_km,
    travel_matrix,
)

points = st.builds(Point, st.floats(-90, 90), st.floats(-180, 180))


def test_two_airports_are_as_far_apart_as_published() -> None:
    """BNA 36.12 N 86.67 W to LAX 33.94 N 118.40 W: 2886.444442837983 km for R = 6371.0 km.

    Source: Rosetta Code, task "Haversine formula", commentary on the choice of the radius.
    """
    distance = great_circle_km(Point(36.12, -86.67), Point(33.94, -118.40))
    assert distance == pytest.approx(2886.444442837983 * EARTH_RADIUS_KM / 6371.0, abs=1e-6)


def test_pole_to_equator_is_a_quarter_of_the_circle() -> None:
    """pi R / 2 = 10,007.557 km; the true quarter meridian is 10,001.966 km (from memory)."""
    quarter = great_circle_km(Point(0, 0), Point(90, 0))
    assert quarter == pytest.approx(pi * EARTH_RADIUS_KM / 2, abs=1e-6)
    assert quarter == pytest.approx(10_001.966, rel=0.001)


@given(points, points)
def test_distance_is_the_same_both_ways_and_never_over_half_the_circle(a: Point, b: Point) -> None:
    assert great_circle_km(a, b) == pytest.approx(great_circle_km(b, a), abs=1e-6)
    assert 0 <= great_circle_km(a, b) <= pi * EARTH_RADIUS_KM + 1e-6


def test_a_drive_is_worked_out_by_hand() -> None:
    # 0.1 degree north: 11.1195 km x 1.3 / 48 km/h = 18.07 min, rounded up to 19.
    assert drive_seconds(Point(40.0, -76.0), Point(40.1, -76.0)) == 19 * 60


def test_the_same_place_costs_nothing_and_an_unknown_one_the_flat_time() -> None:
    here = Point(40, -76)
    assert drive_seconds(here, here) == 0
    assert drive_seconds(here, None) == drive_seconds(None, None) == UNKNOWN_DRIVE_S == 1200


@given(st.lists(points | st.none(), max_size=6))
def test_the_matrix_is_square_whole_and_zero_on_its_diagonal(places: list[Point | None]) -> None:
    matrix = travel_matrix(places)
    assert [len(row) for row in matrix] == [len(places)] * len(places)
    for row, cells in enumerate(matrix):
        for column, cell in enumerate(cells):
            expected = 0 if row == column else drive_seconds(places[row], places[column])
            assert cell == pytest.approx(expected, abs=60) and cell % 60 == 0


def test_a_place_off_the_earth_is_refused() -> None:
    with pytest.raises(ValueError, match="not a place"):
        Point(91, 0)
    with pytest.raises(ValueError, match="not a place"):
        Point(float("nan"), 0)
