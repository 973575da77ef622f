"""Zones from typed lengths: the band (plane geometry) and slips of the keyboard."""

from __future__ import annotations

from typing import Any

import pytest

from accounts.refusals import Refused
from sites.rules.entries import NewZone
from sites.rules.zone_sizes import zone_size

# 1 ft is 304.8 mm exactly (NIST Handbook 44, Appendix C), so 1 sq ft is 92,903.04 mm2
SQ_FT = 92_903.04


def _zone(**fields: Any) -> NewZone:
    return NewZone(**{"property_id": 1, "name": "A", "place": "foundation_wall"} | fields)


def test_the_house_band() -> None:
    """180 ft by 3 up and 3 out: 1,080 sq ft."""
    size = zone_size(_zone(wall_run="180", height_up="3", width_out="3.0"))
    assert (size.geometry, size.wall_run, size.width_out) == ("band", "180", "3")
    assert (size.wall_run_mm, size.height_up_mm) == (54_864, 914)  # 914.4, half-even
    assert size.area_mm2 == round(1080 * SQ_FT)


def test_what_it_is_without_being_told() -> None:
    assert zone_size(_zone(wall_run="22")).geometry == "linear"
    assert zone_size(_zone(wall_run="22", width_out="")).area_mm2 == 0
    assert zone_size(_zone(wall_run="22", height_up="0.5")).geometry == "band"


def test_meters_count_spaces_and_corners() -> None:
    metric = zone_size(_zone(wall_run="10", width_out="1.5", length_unit="m"))
    assert (metric.wall_run_mm, metric.area_mm2) == (10_000, 15_000_000)
    places = zone_size(_zone(wall_run="12", height_up="3", geometry="count"))
    assert (places.wall_run, places.height_up, places.wall_run_mm) == ("12", "0", 0)
    space = zone_size(_zone(wall_run="30", height_up="4", width_out="20", geometry="volume"))
    assert space.area_mm2 == 0
    square = zone_size(_zone(wall_run="100", width_out="3", corners="square"))
    assert square.area_mm2 == round((300 + 4 * 9) * SQ_FT)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"wall_run": "abc"}, "wall_run"),
        ({"wall_run": ""}, "wall_run"),
        ({"wall_run": "-5"}, "wall_run"),
        ({"wall_run": "1000000000000"}, "wall_run"),
        ({"wall_run": "1e12"}, "wall_run"),
        ({"wall_run": "1,000"}, "wall_run"),
        ({"wall_run": "NaN"}, "wall_run"),
        ({"wall_run": "٣"}, "wall_run"),
        ({"wall_run": "9" * 5000}, "wall_run"),
        ({"wall_run": "0"}, "wall_run"),
        ({"wall_run": "5", "height_up": "-1"}, "height_up"),
        ({"wall_run": "5", "width_out": "1001"}, "width_out"),
        ({"wall_run": "5", "geometry": "band"}, "width_out"),
        ({"wall_run": "5", "geometry": "volume", "width_out": "2"}, "height_up"),
        ({"wall_run": "5.5", "geometry": "count"}, "wall_run"),
        ({"wall_run": "5", "geometry": "blob"}, "geometry"),
    ],
)
def test_slips(fields: dict[str, Any], field: str) -> None:
    with pytest.raises(Refused) as caught:
        zone_size(_zone(**fields))
    assert caught.value.facts["field"] == field
    assert caught.value.sentence.endswith(".") and len(caught.value.sentence) < 200
