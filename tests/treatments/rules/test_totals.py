"""Totals: one cell a record, words of the axes, and the same grand total by any of them."""

from __future__ import annotations

from collections import Counter
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.places import Place
from treatments.rules.totals import (
    Axis,
    Cell,
    ProductKey,
    Tally,
    county_word,
    grand_total,
    ordered,
    period_key,
    period_word,
    place_bit,
    places_word,
    regrouped,
    zip5,
)

A, B = ProductKey("Demonstration A SC", "99999-101"), ProductKey("Demonstration D dust", "")


@pytest.mark.parametrize(
    ("axis", "day", "word"),
    [
        (Axis.MONTH, date(2026, 1, 31), "Jan 2026"),
        (Axis.QUARTER, date(2026, 3, 31), "Q1 2026"),
        (Axis.QUARTER, date(2026, 4, 1), "Q2 2026"),
        (Axis.QUARTER, date(2026, 12, 31), "Q4 2026"),
        (Axis.YEAR, date(2028, 2, 29), "2028"),
    ],
)
def test_a_period_in_words(axis: Axis, day: date, word: str) -> None:
    assert period_word(axis, day) == word


@pytest.mark.parametrize(
    ("written", "five"),
    [
        # 6 NYCRR 325.25 (read): the five-digit ZIP is mandatory
        ("12207", "12207"),
        ("12207-1234", "12207"),
        ("122071234", "12207"),
        (" 12207 ", "12207"),
        ("1220", ""),
        ("K1A 0B1", ""),
        ("", ""),
        ("12207-12", ""),
    ],
)
def test_five_digits_of_a_zip(written: str, five: str) -> None:
    assert zip5(written) == five


def test_a_county_is_named_with_its_state() -> None:
    assert county_word("Franklin", "OH") == "Franklin, OH"
    assert county_word("", "OH") == "No county, OH"
    assert county_word(" ", "") == "No county"


def test_several_places_are_one_word_and_no_amount_is_split() -> None:
    wall, soil = place_bit(Place.FOUNDATION_WALL), place_bit(Place.SOIL_BAND)
    assert places_word(wall) == "Foundation wall"
    assert places_word(wall | soil) == "Foundation wall and soil band together"
    assert places_word(0) == "No place"
    three = wall | soil | place_bit(Place.ATTIC)
    assert places_word(three) == "Foundation wall, soil band and attic together"


def test_every_place_has_its_own_bit() -> None:
    assert len({place_bit(place) for place in Place}) == len(Place)
    assert sum(place_bit(place) for place in Place) == 2 ** len(Place) - 1


def test_records_without_an_amount_are_counted_and_add_nothing() -> None:
    liquid, nothing = Tally(2, by_volume=2, ul=500), Tally(1)
    both = liquid + nothing
    assert (both.records, both.without_amount, both.ul) == (3, 1, 500)


def test_cells_are_added_up_by_hand() -> None:
    cells = [
        Cell(("Oct 2026", "43085"), A, Tally(1, 1, 0, 47_318, 0), 1),
        Cell(("Nov 2026", "43085"), A, Tally(2, 2, 0, 94_635, 0), 2),
        Cell(("Nov 2026", "43017"), B, Tally(1, 0, 1, 0, 28_350), 1),
    ]
    by_zip = regrouped(cells, lambda cell: cell.group[1:])
    assert by_zip == [
        Cell(("43085",), A, Tally(3, 3, 0, 141_953, 0)),
        Cell(("43017",), B, Tally(1, 0, 1, 0, 28_350)),
    ]
    assert grand_total(by_zip) == grand_total(cells) == Tally(4, 3, 1, 141_953, 28_350)


def test_periods_stand_in_the_order_of_the_calendar() -> None:
    days = [date(2026, 4, 1), date(2025, 12, 1), date(2026, 11, 1)]
    periods = {period_word(Axis.MONTH, day): period_key(Axis.MONTH, day) for day in days}
    cells = [Cell((word,), A, Tally(1)) for word in periods]
    words = [cell.group[0] for cell in ordered(cells, periods)]
    assert words == ["Dec 2025", "Apr 2026", "Nov 2026"]


tallies = st.builds(
    Tally,
    records=st.integers(3, 9),
    by_volume=st.integers(0, 2),
    by_mass=st.integers(0, 1),
    ul=st.integers(0, 10**13),
    mg=st.integers(0, 10**13),
)
groups = st.tuples(*(st.sampled_from("abc") for _ in range(4)))
cell_lists = st.lists(
    st.builds(Cell, groups, st.sampled_from([A, B]), tallies, st.integers(1, 3)), max_size=30
)


@given(cell_lists, st.lists(st.integers(0, 3), unique=True), st.booleans())
def test_any_choice_of_axes_has_the_same_grand_total(
    cells: list[Cell], axes: list[int], by_product: bool
) -> None:
    again = regrouped(
        cells, lambda cell: tuple(cell.group[axis] for axis in axes), by_product=by_product
    )
    assert grand_total(again) == grand_total(cells)
    keys = Counter((cell.group, cell.product) for cell in again)
    assert set(keys.values()) <= {1}  # one row a group and product
