"""A part of a zone without wall runs (house rule); sizes by plane geometry, by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.measurements import ZoneMeasure
from sites.rules.places import Geometry
from treatments.rules.applications import Entered, treated_size
from treatments.rules.treated_parts import (
    PART,
    REST,
    part_and_rest,
    part_of,
    refuse_beyond,
    resized,
)
from treatments.rules.wall_runs import NOT_DUE, LeftOut, RunTold, runs_told

BAND = ZoneMeasure(Geometry.BAND, Decimal(120), Decimal(2), Decimal(3))
LAWN = ZoneMeasure(Geometry.SURFACE, Decimal(40), Decimal(0), Decimal(30))
VOID = ZoneMeasure(Geometry.VOLUME, Decimal(10), Decimal(8), Decimal(2))
PLACES = ZoneMeasure(Geometry.COUNT, Decimal(12))


@pytest.mark.parametrize(
    ("measure", "typed", "unit", "rest", "length_mm"),
    [
        (BAND, "80", "ft", "40", 24_384),  # 80 x 304.8 mm; 120 - 80
        (BAND, "400", "ft2", "200", 0),  # 120 x 5 = 600 sq ft
        (BAND, "30", "m", "6.58", 30_000),  # 36.576 - 30 m, shown to the hundredth
        (PLACES, "5", "each", "7", 0),
        (VOID, "60", "ft3", "100", 0),  # 10 x 8 x 2 = 160 cu ft
    ],
)
def test_part_and_rest(
    measure: ZoneMeasure, typed: str, unit: str, rest: str, length_mm: int
) -> None:
    done, left = part_and_rest(measure, Entered(typed, unit), "dog", "Band")
    assert (done.name, done.length, done.length_mm, done.is_done) == (PART, typed, length_mm, True)
    assert (left.name, left.length, left.unit, left.reason) == (REST, rest, unit, "dog")


@pytest.mark.parametrize(
    ("entered", "reason", "sentence"),
    [
        (None, "dog", "Write how much"),
        (Entered("80", "ft"), "bored", "choose why"),
        (Entered("120", "ft"), "dog", "all of"),
        (Entered("601", "ft2"), "dog", "all of"),
        (Entered("0", "ft"), "dog", "zero"),
        (Entered("3", "gal"), "dog", "length or area"),
    ],
)
def test_what_is_no_part(entered: Entered | None, reason: str, sentence: str) -> None:
    with pytest.raises(Refused) as refused:
        part_and_rest(BAND, entered, reason, "Band")
    assert sentence in refused.value.sentence


def test_a_zone_without_a_size_has_no_part() -> None:
    with pytest.raises(Refused, match="not measured"):
        part_and_rest(ZoneMeasure(Geometry.BAND, Decimal(0)), Entered("8", "ft"), "dog", "Band")


@given(st.integers(1, 11_999))
def test_part_and_rest_are_the_whole(hundredths: int) -> None:
    typed = str(Decimal(hundredths) / 100)
    done, left = part_and_rest(BAND, Entered(typed, "ft"), "wet", "Band")
    assert Decimal(done.length) + Decimal(left.length) == 120


def test_a_band_is_typed_by_its_run_and_a_lawn_by_its_area() -> None:
    assert str(part_of(BAND)) == "120 ft"
    assert part_of(PLACES).unit == "each"
    assert part_of(LAWN) == LAWN.size


def test_only_a_part_follows_a_corrected_size() -> None:
    part = part_and_rest(BAND, Entered("80", "ft"), "dog", "Band")
    done, left = resized(part, BAND, treated_size(BAND, Entered("90", "ft")), "Band")
    assert (done.length, left.length, left.reason) == ("90", "30", "dog")
    assert resized(part, BAND, treated_size(BAND, None), "Band") == ()
    walls = (RunTold("north", "40", "ft", 12_192), RunTold("south", "80", "ft", 24_384, "wet"))
    assert resized(walls, BAND, treated_size(BAND, Entered("90", "ft")), "Band") == walls


def test_nobody_plans_more_than_there_is() -> None:
    refuse_beyond(BAND, treated_size(BAND, Entered("120", "ft")), "Band")
    with pytest.raises(Refused, match="more than Band has"):
        refuse_beyond(BAND, treated_size(BAND, Entered("120.01", "ft")), "Band")


def test_a_wall_that_needs_nothing_is_no_run() -> None:
    wall = RunTold("north", "40", "ft", 12_192)
    walls = [(1, wall), (2, replace(wall, name="south"))]
    with pytest.raises(Refused, match="choose from the list"):
        runs_told(walls, [(1, LeftOut.NOT_NEEDED)], "Band")
    assert LeftOut.NOT_NEEDED in NOT_DUE
