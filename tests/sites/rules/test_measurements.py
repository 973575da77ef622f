"""Areas against published worked examples and derived checks."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.refusals import Refused
from sites.rules.measurements import (
    ZoneMeasure,
    band_area,
    circle_area,
    rectangle_perimeter,
    total_area,
    triangle_area,
    zone_area,
)
from sites.rules.places import Corners, Geometry


def band(run: str, up: str, out: str, corners: Corners = Corners.SIMPLE) -> ZoneMeasure:
    return ZoneMeasure(Geometry.BAND, Decimal(run), Decimal(up), Decimal(out), corners)


def test_house_60_by_40() -> None:
    """Derived from plane geometry."""
    run = rectangle_perimeter(Decimal(60), Decimal(40))
    assert run == 200
    assert band_area(run, Decimal(3), Decimal(5)) == 1600
    assert band_area(run, Decimal(3), Decimal(5), Corners.SQUARE) == 1700
    rounded = band_area(run, Decimal(3), Decimal(5), Corners.ROUNDED)
    assert rounded.quantize(Decimal("0.01")) == Decimal("1678.54")


@pytest.mark.parametrize(("up", "out", "area"), [(3, 3, 1080), (2, 6, 1440)])
def test_180_feet(up: int, out: int, area: int) -> None:
    """Derived: 180 x (3 + 3) and 180 x (2 + 6)."""
    assert zone_area(band("180", str(up), str(out))) == area


def test_one_inch_entry_band_on_200_feet() -> None:
    """Derived: 200 / 12; the inch is EPA's outdoor pyrethroid label language (read)."""
    inch = Decimal(1) / 12
    measure = ZoneMeasure(Geometry.BAND, Decimal(200), inch)
    assert zone_area(measure).quantize(Decimal("0.01")) == Decimal("16.67")


def test_published_areas() -> None:
    """Areas as printed (read); circles there with pi = 3.14 but for the one of 20 ft.

    300 x 150: US Army subcourse MD0173, p. 39. The others: UC ANR blog post 16761, Tennessee
    common calculations, Oklahoma State turf calibration, Virginia turf area page.
    """
    assert ZoneMeasure(Geometry.SURFACE, Decimal(300), Decimal(150)).area.value == 45000
    assert ZoneMeasure(Geometry.SURFACE, Decimal(80), Decimal(60)).area.value == 4800
    assert circle_area(Decimal(20)).quantize(Decimal("0.001")) == Decimal("314.159")
    assert abs(circle_area(Decimal(40)) - 1256) < 1
    assert abs(circle_area(Decimal(80)) - 5024) < 3
    assert triangle_area(Decimal(40), Decimal(80)) == 1600
    assert triangle_area(Decimal(30), Decimal(26)) == 390


def test_circle_of_a_two_square_foot_spot() -> None:
    """Derived: 2 sq ft are 288 sq in, a circle 19.15 in across."""
    assert abs(circle_area(Decimal("19.15")) - 288) < Decimal("0.1")


def test_other_geometries() -> None:
    assert ZoneMeasure(Geometry.LINEAR, Decimal(40)).size.unit == "ft"
    space = ZoneMeasure(Geometry.VOLUME, Decimal(10), Decimal(8), Decimal(12))
    assert (space.size.value, space.size.unit, space.area.value) == (960, "ft3", 0)
    stations = ZoneMeasure(Geometry.COUNT, Decimal(14))
    assert (stations.size.unit, stations.area.value) == ("each", 0)


def test_meters_add_to_feet() -> None:
    metric = ZoneMeasure(Geometry.BAND, Decimal("30.48"), Decimal("0.3048"), unit="m")
    assert zone_area(metric) == 100
    assert total_area((metric, band("180", "3", "3"))) == 1180


def test_sentences() -> None:
    assert band("180", "3", "3").sentence == "180 ft × (3 up + 3 out) = 1,080 sq ft"
    square = band("200", "3", "5", Corners.SQUARE)
    assert square.sentence == "200 ft × (3 up + 5 out) + 4 × 5² at the corners = 1,700 sq ft"
    assert ZoneMeasure(Geometry.COUNT, Decimal(14)).sentence == "14 places"


def test_refused_measures() -> None:
    with pytest.raises(Refused, match="never smaller than zero"):
        band("-1", "3", "3")
    with pytest.raises(Refused, match="ft or m"):
        ZoneMeasure(Geometry.BAND, Decimal(1), unit="yd")
