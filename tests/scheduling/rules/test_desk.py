"""Around an address: distances over the mean sphere, the edge, positions that are not known."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.desk import KM_A_MILE, Around, around, point_in
from scheduling.rules.travel import Point, great_circle_km

HOME = Point(40.0, -83.0)


def test_a_mile_is_the_international_mile() -> None:
    # NIST SP 811 (2008), appendix B.8: 1 mi = 1.609 344 km
    assert KM_A_MILE == 1.609344


def test_one_degree_of_latitude_is_69_miles() -> None:
    # derived: 6371.0088 km * pi / 180 = 111.195 km = 69.094 mi
    north = Point(41.0, -83.0)
    assert around(HOME, Decimal("69.095"), [(1, north)]).inside == (1,)
    assert around(HOME, Decimal("69.093"), [(1, north)]).inside == ()


def test_unknown_positions_are_told_and_never_inside() -> None:
    found = around(HOME, Decimal(25), [(1, None), (2, HOME), (3, Point(50, 8)), (4, None)])
    assert found == Around((2,), (1, 4))


@given(
    st.floats(-89, 89), st.floats(-180, 180), st.floats(-89, 89), st.floats(-180, 180),
    st.decimals("0.001", 25, places=3),
)  # fmt: skip
def test_nearer_is_never_left_out(
    lat: float, lon: float, lat2: float, lon2: float, miles: Decimal
) -> None:
    center, other = Point(lat, lon), Point(lat2, lon2)
    is_near = great_circle_km(center, other) <= float(miles) * 1.609344
    assert (around(center, miles, [(1, other)]).inside == (1,)) is is_near
    assert around(center, miles, [(1, center)]).inside == (1,)


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("40.0123, -82.9001", Point(40.0123, -82.9001)),
        ("-90,180", Point(-90, 180)),
        ("118 Sluice Lane, Wrenfield", None),
        ("12, Mill Road", None),
        ("40.1", None),
        ("", None),
    ],
)
def test_a_position_is_two_numbers(text: str, point: Point | None) -> None:
    assert point_in(text) == point


@pytest.mark.parametrize("text", ["91, 0", "0, 181", "nan, 0", "0, Infinity", "1e400, 0"])
def test_no_place_on_the_earth_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a place on the Earth"):
        point_in(text)
