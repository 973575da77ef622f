"""What to carry to a truck: whole containers, never too little, never one too many."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import Amount
from treatments.rules.applications import TreatedSize
from treatments.rules.loading import ShelfLot, Take, label_amount, load_of, share_of
from treatments.rules.products import RateBasis

OLD = ShelfLot("L-1", "Main store", 100, 32)
NEW = ShelfLot("L-2", "Main store", 64, 32)
# 1,000 sq ft band of a 100 ft run; mm2 and mm are not read here
BAND = TreatedSize("100", "ft", Amount(Decimal(1000), "ft2"), 0, 0)
HOLES = TreatedSize("6", "each", Amount(Decimal(0), "ft2"), 0, 0)


def take(number: str, quantity: int, containers: int) -> Take:
    return Take(number, "Main store", quantity, containers)


@pytest.mark.parametrize(
    ("needed", "aboard", "shelf", "takes", "missing"),
    [
        (10, 10, [OLD], [], 0),
        (11, 10, [OLD], [take("L-1", 32, 1)], 0),
        (33, 0, [OLD], [take("L-1", 64, 2)], 0),
        # an opened container goes as it is, and the rest comes from the next lot
        (101, 0, [OLD, NEW], [take("L-1", 100, 0), take("L-2", 32, 1)], 0),
        (10, -5, [], [], 15),
        (200, 0, [OLD, NEW], [take("L-1", 100, 0), take("L-2", 64, 2)], 36),
        (5, 0, [ShelfLot("L-0", "Main store", -3, 32), NEW], [take("L-2", 32, 1)], 0),
    ],
)  # fmt: skip
def test_whole_containers_the_oldest_first(
    needed: int, aboard: int, shelf: list[ShelfLot], takes: list[Take], missing: int
) -> None:
    answer = load_of(needed, aboard, shelf)
    assert list(answer.takes) == takes
    assert answer.missing == missing


SHELF = st.lists(
    st.builds(ShelfLot, st.just("L"), st.just("S"), st.integers(-50, 500), st.integers(1, 60)),
    max_size=6,
)


@given(st.integers(0, 1500), st.integers(-200, 500), SHELF)
def test_never_too_little_and_never_a_container_too_many(
    needed: int, aboard: int, shelf: list[ShelfLot]
) -> None:
    answer = load_of(needed, aboard, shelf)
    there = sum(max(0, lot.quantity) for lot in shelf)
    taken = sum(take.quantity for take in answer.takes)
    assert taken + answer.missing >= answer.short == max(0, needed - aboard)
    assert answer.missing == max(0, answer.short - there)
    biggest = max((lot.container for lot in shelf), default=1)
    assert taken - answer.short < biggest


@given(st.integers(1, 10**9), st.lists(st.integers(1, 10**9), min_size=1, max_size=8))
def test_the_shares_of_a_record_are_never_less_than_the_record(
    amount: int, parts: list[int]
) -> None:
    shares = sum(share_of(amount, part, sum(parts)) for part in parts)
    assert amount <= shares < amount + len(parts)


def test_a_record_without_a_measure_gives_all_of_it() -> None:
    assert share_of(7, 0, 0) == share_of(7, 0, 9) == 7


@pytest.mark.parametrize(
    ("basis", "value", "unit", "size", "gallons", "amount"),
    [
        # 1 fl oz per 1,000 sq ft on 1,000 sq ft
        (RateBasis.AREA, "1", "fl_oz", BAND, None, "1 fl oz"),
        # 0.8 fl oz per gallon, 2 gal per 1,000 sq ft
        (RateBasis.FINISHED_VOLUME, "0.8", "fl_oz", BAND, "2", "1.6 fl oz"),
        # half a percent of 2 gal is 0.01 gal
        (RateBasis.PERCENT, "0.5", "gal", BAND, "2", "0.01 gal"),
        (RateBasis.FINISHED_VOLUME, "0.8", "fl_oz", BAND, None, None),
        # 0.5 fl oz per 10 linear ft on 100 ft
        (RateBasis.LINEAR, "0.5", "fl_oz", BAND, None, "5 fl oz"),
        (RateBasis.COUNT, "2", "g", HOLES, None, "12 g"),
        (RateBasis.SPACE_VOLUME, "1", "fl_oz", BAND, None, None),
        (RateBasis.AREA, "1", "fl_oz", HOLES, None, None),
    ],
)  # fmt: skip
def test_the_label_says_how_much_for_a_zone(
    basis: RateBasis, value: str, unit: str, size: TreatedSize, gallons: str | None,
    amount: str | None,
) -> None:  # fmt: skip
    found = label_amount(
        basis, Decimal(value), unit, size, None if gallons is None else Decimal(gallons)
    )
    assert (None if found is None else str(found)) == amount
