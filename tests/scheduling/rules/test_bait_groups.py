"""Bait of a round put together for one record: count times amount, exact, never across units."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules.bait_groups import BaitLine, bait_groups


def line(check: int, pieces: int = 1, each: str = "20", **more: object) -> BaitLine:
    facts = {"ref": "7", "product": "Demonstration R", "lot": "L-3", "unit": "g", "zone_id": 5}
    return BaitLine(check_id=check, device=check, pieces=pieces, each=each, **facts | more)  # type: ignore[arg-type]


def test_one_group_is_one_label_lot_and_unit() -> None:
    groups = bait_groups(
        [
            line(1, 4),
            line(2, 1, "28.35"),
            line(3, lot="L-4"),
            line(4, unit="oz_wt"),
            line(5, ref="8", product="Demonstration Q"),
            line(6, 2, zone_id=None),
        ]
    )
    first = groups[0]
    assert [group.key for group in groups] == ["1-2-6", "3", "4", "5"]
    assert (first.pieces, first.amount, first.zone_ids) == (7, "148.35", (5,))
    assert first.words == "7 pieces, 148.35 g of Demonstration R, lot L-3"
    assert first.arithmetic == "6 × 20 g + 1 × 28.35 g"
    assert (
        first.note(first.first.lot)
        == "Lot L-3: 6 × 20 g + 1 × 28.35 g, 7 pieces in devices 1, 2, 6."
    )


def test_a_long_list_says_how_many_more() -> None:
    only = bait_groups([line(number) for number in range(1, 501)])[0]
    assert only.devices.endswith("59, 60 and 440 more") and len(only.note("")) < 4000


@given(st.lists(st.tuples(st.integers(1, 999), st.decimals("0.001", "9999", places=3)), min_size=1))
@settings(max_examples=50)
def test_the_sum_is_exact(rows: list[tuple[int, Decimal]]) -> None:
    lines = [line(at, pieces, format(each, "f")) for at, (pieces, each) in enumerate(rows)]
    group = bait_groups(lines)[0]
    assert Decimal(group.amount) == sum(pieces * each for pieces, each in rows)
