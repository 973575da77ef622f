"""Every way to put a product down, from the mix to the record, each in its own amounts.

Labels and rates are invented (99999-1xx); the amounts are worked out by hand beside each row.
"""

from __future__ import annotations

import html
import re
import uuid
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import pytest

from sites.rules.places import Geometry, Place
from tests.factories import make_label, make_product, make_zone
from tests.scheduling.field.conftest import TYPED, Stop
from treatments.models import ApplicationRecord, LogEntry
from treatments.rules.products import LABEL_METHODS, METHOD_WORDS, Method, RateBasis

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Way:
    """A zone, a direction for it, what the mix must say, what was used and what is kept of it."""

    method: Method
    place: Place
    zone: dict[str, Any]
    rate: dict[str, Any]
    mix: str
    used: tuple[str, str]
    kept: dict[str, object]
    spray: tuple[str, str] = ("", "gal")
    product: dict[str, Any] = field(default_factory=dict)


BAND = {"run": "120", "up": "2", "out": "3"}  # 120 ft x (2 up + 3 out) = 600 sq ft
SPOT = {"run": "25", "up": "0", "out": "4", "geometry": Geometry.SURFACE}  # 100 sq ft
LAWN = {"run": "100", "up": "0", "out": "30", "geometry": Geometry.SURFACE}  # 3,000 sq ft
CRACK = {"run": "50", "up": "0", "out": "0", "geometry": Geometry.LINEAR}
PLACES = {"run": "8", "up": "0", "out": "0", "geometry": Geometry.COUNT}
ROOM = {"run": "20", "up": "8", "out": "10", "geometry": Geometry.VOLUME}  # 1,600 cu ft
DRY = {"per_gallon": None, "gallons_per_1000": None}


def counted(basis: RateBasis, most: str, unit: str, per_gallon: str = "") -> dict[str, Any]:
    mixed = Decimal(per_gallon) if per_gallon else None
    return DRY | {
        "rate_basis": basis,
        "rate_max": Decimal(most),
        "rate_unit": unit,
        "per_gallon": mixed,
    }


WAYS = (
    # at most 0.8 fl oz per 1,000 sq ft in 1 gal: 95 % of 0.48 fl oz is 13.49 mL
    Way(
        Method.PERIMETER_BAND, Place.FOUNDATION_WALL, BAND, {},
        "13 mL", ("0.45", "fl_oz"),
        # 0.45 x 29,573.5295625 uL; 0.6 x 3,785,411.784 uL
        {"product_ul": 13_308, "finished_ul": 2_271_247, "length_mm": 36_576},
        spray=("0.6", "gal"),
    ),
    # at most 3 fl oz per 1,000 sq ft: 95 % of 9 on 3,000 is 252.85 mL
    Way(
        Method.BROADCAST, Place.VEGETATION, LAWN,
        {"rate_max": Decimal(3), "per_gallon": Decimal(3)},
        "252 mL", ("8", "fl_oz"), {"product_ul": 236_588, "area_mm2": 278_709_120},
        spray=("3", "gal"),
    ),
    # at most 0.8 on 1,000: 95 % of 0.08 fl oz on 100 sq ft is 2.25 mL
    Way(
        Method.SPOT, Place.INTERIOR_SPOT, SPOT, {},
        "2 mL", ("2", "mL"), {"product_ul": 2_000, "area_mm2": 9_290_304},
        spray=("0.1", "gal"),
    ),
    # at most 0.1 g on 10 ft: 0.5 g on 50
    Way(
        Method.CRACK_CREVICE, Place.CRACK_CREVICE, CRACK, counted(RateBasis.LINEAR, "0.1", "g"),
        "50 ft", ("0.4", "g"), {"product_mg": 400, "length_mm": 15_240},
        product={"formulation": "gel"},
    ),
    # at most 2 g a void: 16 g in 8
    Way(
        Method.VOID, Place.VOID, PLACES, counted(RateBasis.COUNT, "2", "g"),
        "8 each", ("14", "g"), {"product_mg": 14_000, "area_mm2": 0},
        product={"formulation": "dust"},
    ),
    # at most 4 gal on 10 ft of trench would be spray: 0.8 fl oz on 10 ft, 4 on 50
    Way(
        Method.SOIL, Place.SOIL_BAND, CRACK, counted(RateBasis.LINEAR, "0.8", "fl_oz", "0.8"),
        "50 ft", ("3.5", "fl_oz"), {"product_ul": 103_507},
        spray=("4.5", "gal"),
    ),
    # at most 2 lb on 1,000 sq ft: 6 lb on 3,000
    Way(
        Method.GRANULE, Place.VEGETATION, LAWN,
        DRY | {"rate_max": Decimal(2), "rate_unit": "lb"},
        "3,000 sq ft", ("5.5", "lb"), {"product_mg": 2_494_758},
        product={"formulation": "granule"},
    ),
    # at most one block a station: 8 of 8
    Way(
        Method.BAIT, Place.INTERIOR_SPOT, PLACES, counted(RateBasis.COUNT, "1", "each"),
        "8 each", ("7", "each"), {"product_amount": "7", "product_unit": "each"},
        product={"formulation": "bait"},
    ),
    # at most 3 g on 10 ft: 15 on 50
    Way(
        Method.DUST, Place.CRACK_CREVICE, CRACK, counted(RateBasis.LINEAR, "3", "g"),
        "50 ft", ("12", "g"), {"product_mg": 12_000},
        product={"formulation": "dust"},
    ),
    # at most 1 fl oz a void, 4 fl oz in a gallon of foaming solution
    Way(
        Method.FOAM, Place.VOID, PLACES, counted(RateBasis.COUNT, "1", "fl_oz", "4"),
        "8 each", ("7", "fl_oz"), {"product_ul": 207_015},
        spray=("1.75", "gal"), product={"formulation": "foam"},
    ),
    # at most 1 fl oz in 1,000 cu ft: 1.6 in 1,600
    Way(
        Method.SPACE, Place.INTERIOR_SPOT, ROOM, counted(RateBasis.SPACE_VOLUME, "1", "fl_oz"),
        "1,600 cu ft", ("1.5", "fl_oz"), {"product_ul": 44_360, "area_mm2": 0},
        product={"formulation": "ready_to_use"},
    ),
    # at most 0.5 fl oz on 10 ft: 2.5 on 50
    Way(
        Method.PAINT_ON, Place.EAVE_SOFFIT, CRACK, counted(RateBasis.LINEAR, "0.5", "fl_oz"),
        "50 ft", ("2", "fl_oz"), {"product_ul": 59_147},
        product={"formulation": "ready_to_use"},
    ),
    Way(
        Method.DEVICE, Place.INTERIOR_SPOT, PLACES, counted(RateBasis.COUNT, "1", "each"),
        "8 each", ("8", "each"), {"product_unit": "each", "registration_kind": "device"},
        product={
            "formulation": "ready_to_use",
            "registration_kind": "device",
            "registration_number": "",
        },
    ),
)  # fmt: skip


def test_no_method_is_left_out() -> None:
    assert {way.method for way in WAYS} == set(LABEL_METHODS)


def words(content: bytes) -> str:
    text = html.unescape(re.sub(r"<[^>]+>", " ", content.decode()))
    return " ".join(text.replace("\u00a0", " ").split())


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.method.value)
def test_a_method_goes_from_the_mix_to_the_record(stop: Stop, way: Way) -> None:
    zone = make_zone(stop.visit.property, "The zone", place=way.place, **way.zone)
    direction = {"methods": [way.method], "places": [way.place]} | way.rate
    use = make_label(make_product(**way.product), use=direction)
    choice = f"?zone={zone.pk}&use={use.pk}&tank=4"
    mix = stop.mix(choice)
    assert mix.status_code == 200
    shown = words(mix.content)
    assert way.mix in shown, shown
    assert METHOD_WORDS[way.method] in shown

    page = stop.client.get(f"{stop.path}record/{choice}").content.decode()
    assert f'value="{way.used[1]}"' in page
    typed = dict(zip(("product_amount", "product_unit"), way.used, strict=True))
    typed |= dict(zip(("finished_amount", "finished_unit"), way.spray, strict=True))
    form = TYPED | {"client_ref": str(uuid.uuid4())} | typed
    answer = stop.client.post(f"{stop.path}record/{choice}", form)
    assert answer.status_code == 302, words(answer.content)
    record = ApplicationRecord.objects.get(visit_ref=str(stop.visit.ref))
    assert record.method == way.method
    for name, value in way.kept.items():
        assert getattr(record, name) == value, name
    assert LogEntry.objects.filter(record=record).count() == 1
    assert not record.judgements.filter(code="rate", severity="violation").exists()
    assert stop.client.get(f"/record/{record.pk}/").status_code == 200
