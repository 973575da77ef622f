"""What is said of one application: sizes, digests, readings; rules without a database."""

from __future__ import annotations

import uuid
from dataclasses import fields, replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.measurements import ZoneMeasure
from sites.rules.places import Corners, Geometry
from treatments.rules.applications import (
    Application,
    Entered,
    TreatedZone,
    Weather,
    digest_of,
    finished_amount,
    product_amount,
    reading,
    refuse_nonsense,
    treated_size,
)

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
APPLICATION = Application(
    client_ref=uuid.UUID(int=1),
    property_id=1,
    applicator_id=1,
    zones=(TreatedZone(1),),
    method="spot",
    started_at=NOW,
    finished_at=NOW,
)
BAND = ZoneMeasure(Geometry.BAND, Decimal(200), Decimal(3), Decimal(5))
ROOM = ZoneMeasure(Geometry.VOLUME, Decimal(10), Decimal(8), Decimal(12))
SQ_FT = 92_903.04  # mm2, NIST Handbook 44, Appendix C


@pytest.mark.parametrize(
    ("measure", "entered", "size", "area_sq_ft", "length_mm"),
    [
        (BAND, None, ("1600", "ft2"), 1600, 60_960),
        (BAND, Entered("50", "ft"), ("50", "ft"), 400, 15_240),
        (BAND, Entered("10", "yd"), ("10", "yd"), 240, 9_144),
        (BAND, Entered("100", "ft2"), ("100", "ft2"), 100, 0),
        (ROOM, None, ("960", "ft3"), 0, 0),
        (ROOM, Entered("500", "ft3"), ("500", "ft3"), 0, 0),
        (ZoneMeasure(Geometry.COUNT, Decimal(3)), None, ("3", "each"), 0, 0),
        (ZoneMeasure(Geometry.LINEAR, Decimal(30)), None, ("30", "ft"), 0, 9_144),
        (ZoneMeasure(Geometry.LINEAR, Decimal(30)), Entered("12", "inch"), ("12", "inch"), 0, 305),
    ],
)
def test_how_much_was_treated(
    measure: ZoneMeasure,
    entered: Entered | None,
    size: tuple[str, str],
    area_sq_ft: int,
    length_mm: int,
) -> None:
    found = treated_size(measure, entered)
    assert (found.size, found.unit) == size
    assert found.area_mm2 == round(area_sq_ft * SQ_FT)
    assert found.length_mm == length_mm


def test_part_of_a_band_in_meters_keeps_its_own_height_and_width() -> None:
    meters = ZoneMeasure(Geometry.BAND, Decimal(60), Decimal(1), Decimal(1), unit="m")
    found = treated_size(meters, Entered("10", "m"))
    assert (found.area_mm2, found.length_mm) == (20_000_000, 10_000)


def test_corners_count_in_part_of_a_band_too() -> None:
    square = replace(BAND, corners=Corners.SQUARE)
    # 50 x 8 + 4 x 25 = 500 sq ft
    assert treated_size(square, Entered("50", "ft")).area_mm2 == round(500 * SQ_FT)


def test_what_was_not_measured_is_not_zero() -> None:
    assert reading("") is None
    assert reading("-4.5") == Decimal("-4.5")
    assert product_amount(None, "fl_oz") is None
    assert product_amount(Entered("  ", "fl_oz"), "fl_oz") is None
    assert finished_amount(Entered("", "gal")) is None


def test_nothing_used_is_no_application() -> None:
    with pytest.raises(Refused, match="Nothing was used"):
        product_amount(Entered("0", "fl_oz"), "gal")


def test_cold_is_a_reading_and_a_word_is_not() -> None:
    refuse_nonsense(replace(APPLICATION, weather=Weather("0", "-12", "porch")), now=NOW)
    for text in ("--1", "1-", "1.2.3", "٣", ".", "-", "1e1", "nan"):
        with pytest.raises(Refused, match="is not a number"):
            refuse_nonsense(replace(APPLICATION, weather=Weather(temperature_f=text)), now=NOW)


@pytest.mark.parametrize("field", [field.name for field in fields(Application)])
def test_the_digest_covers_everything_but_the_skew(field: str) -> None:
    other: dict[str, object] = {
        "client_ref": uuid.UUID(int=2),
        "property_id": 2,
        "applicator_id": 2,
        "zones": (TreatedZone(1, Entered("1", "ft")),),
        "method": "bait",
        "started_at": NOW.replace(hour=19),
        "finished_at": NOW.replace(hour=21),
        "label_use_id": 1,
        "pest_ids": (1,),
        "product_amount": Entered("1", "gal"),
        "finished_amount": Entered("1", "gal"),
        "weather": Weather("1"),
        "protective_equipment_confirmed": True,
        "device_skew_s": 3,
        "sent_skew_s": 3,
    }
    changed = replace(APPLICATION, **{field: other.get(field, "another")})
    is_same = digest_of(changed) == digest_of(APPLICATION)
    assert is_same == (field in ("device_skew_s", "sent_skew_s"))


@given(st.text(max_size=30), st.sampled_from(["fl_oz", "gal", "lb", "each", "furlong"]))
def test_any_text_is_an_amount_or_a_sentence(text: str, unit: str) -> None:
    try:
        found = product_amount(Entered(text, unit), "fl_oz")
    except Refused as refused:
        assert refused.code in ("amount", "unit")
        assert refused.sentence.endswith((".", "on."))
    else:
        assert found is None or 0 <= found.value <= 100_000


@given(st.text(max_size=10), st.text(max_size=10))
def test_any_text_is_a_reading_or_a_sentence(wind: str, temperature: str) -> None:
    application = replace(APPLICATION, weather=Weather(wind, temperature))
    try:
        refuse_nonsense(application, now=NOW)
    except Refused as refused:
        assert refused.code in ("weather", "text")
    else:
        for text in (wind, temperature):
            assert text == "" or Decimal(text).is_finite()
