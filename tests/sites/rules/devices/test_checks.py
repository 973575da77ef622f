"""What a check may say, when a device is over, and where a round stands; house rules."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.devices.entries import (
    MOST_CHECKS,
    AddedBait,
    NewCheck,
    Spot,
    amount_added,
    digest_of,
    refuse_nonsense,
    refuse_place_on_plan,
    refuse_submission,
)
from sites.rules.devices.rounds import standing
from sites.rules.devices.thresholds import Found, Threshold, over_threshold, refuse_threshold
from sites.rules.units import Amount
from tests.devices import said_no

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
BAIT = AddedBait(4, "20", "g", "7", "Demonstration R", "L-3")
LOOK = NewCheck(uuid.UUID(int=1), 1, "activity", counts=((5, 2),))


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"outcome": "no_activity", "counts": ()},
        {"outcome": "no_activity", "counts": (), "eaten": 0, "added": BAIT, "spoiled": 2},
        {"counts": (), "eaten": 4, "is_damaged": True},
        {"counts": (), "note": "Droppings beside it."},
        {"outcome": "missing", "counts": ()},
        {"outcome": "no_access", "counts": (), "note": "Locked."},
        {"outcome": "skipped", "counts": (), "note": "No time left."},
        {"captured_at": NOW + timedelta(minutes=5)},
    ],
)
def test_what_is_kept(change: dict[str, Any]) -> None:
    refuse_nonsense(replace(LOOK, **change), kind="bait_station", now=NOW)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"outcome": "fine"}, "outcome"),
        ({"outcome": "no_activity"}, "outcome"),
        ({"outcome": "no_activity", "counts": (), "eaten": 1}, "outcome"),
        ({"counts": (), "note": "  "}, "outcome"),
        ({"counts": ((5, -1),)}, "counts"),
        ({"counts": ((5, 0),)}, "counts"),
        ({"counts": ((5, 10_000),)}, "counts"),
        ({"counts": ((5, 1), (5, 2))}, "counts"),
        ({"counts": tuple((pest, 1) for pest in range(13))}, "counts"),
        ({"eaten": 5}, "eaten"),
        ({"eaten": -1}, "eaten"),
        ({"spoiled": -1}, "bait"),
        ({"removed": 1000}, "bait"),
        ({"outcome": "missing"}, "outcome"),
        ({"outcome": "missing", "counts": (), "added": BAIT}, "outcome"),
        ({"outcome": "no_access", "counts": (), "is_damaged": True}, "outcome"),
        ({"outcome": "skipped", "counts": ()}, "reason"),
        ({"captured_at": NOW + timedelta(minutes=6)}, "time"),
        ({"added": replace(BAIT, pieces=0)}, "bait"),
        ({"added": replace(BAIT, each="0")}, "bait"),
        ({"added": replace(BAIT, each="-2")}, "amount"),
        ({"added": replace(BAIT, unit="fl_oz")}, "bait"),
        ({"added": replace(BAIT, unit="grain")}, "unit"),
        ({"added": replace(BAIT, product_ref="")}, "bait"),
    ],
)
def test_what_cannot_be_true(change: dict[str, Any], code: str) -> None:
    with said_no(code):
        refuse_nonsense(replace(LOOK, **change), kind="bait_station", now=NOW)


@pytest.mark.parametrize("change", [{"eaten": 0}, {"added": BAIT}, {"removed": 1}])
def test_a_light_trap_holds_no_bait(change: dict[str, Any]) -> None:
    with said_no("bait"):
        refuse_nonsense(replace(LOOK, **change), kind="light_trap", now=NOW)


def test_poison_goes_into_a_bait_station_only() -> None:
    refuse_nonsense(replace(LOOK, eaten=1, removed=1), kind="feed_monitor", now=NOW)
    with said_no("bait"):
        refuse_nonsense(replace(LOOK, added=BAIT), kind="feed_monitor", now=NOW)


def test_a_submission_names_each_device_and_reference_once() -> None:
    other = replace(LOOK, client_ref=uuid.UUID(int=2), device_id=2)
    refuse_submission([LOOK, other])
    for wrong in ([], [LOOK, replace(other, device_id=1)], [LOOK, replace(LOOK, device_id=2)]):
        with said_no("checks"):
            refuse_submission(wrong)
    many = [replace(LOOK, client_ref=uuid.uuid4(), device_id=n) for n in range(MOST_CHECKS + 1)]
    with said_no("checks"):
        refuse_submission(many)


def test_the_digest_is_of_everything_but_the_order_of_counts() -> None:
    two = replace(LOOK, counts=((5, 2), (6, 1)))
    assert digest_of(two) == digest_of(replace(two, counts=((6, 1), (5, 2))))
    changes: list[dict[str, Any]] = [{"note": "x"}, {"eaten": 0}, {"added": BAIT}, {"counts": ()}]
    assert len({digest_of(two), *(digest_of(replace(two, **one)) for one in changes)}) == 5


@given(st.integers(1, 999), st.decimals("0.000001", "9999", places=6))
@settings(max_examples=50)
def test_bait_is_pieces_times_one_exactly(pieces: int, each: Decimal) -> None:
    text = format(each, "f")
    assert amount_added(replace(BAIT, pieces=pieces, each=text)) == Amount(pieces * each, "g")


RULES = (
    Threshold("trap", None, 5),
    Threshold("trap", 1, 2),
    Threshold("trap", 2, None),
    Threshold("bait_station", None, None, 3),
)


@pytest.mark.parametrize(
    ("kind", "counts", "eaten", "rules", "said"),
    [
        # house rule: 3 of one pest, half of the bait
        ("trap", {1: 2}, None, (), ()),
        ("trap", {1: 3}, None, (), ("3 pest 1, threshold 3",)),
        ("trap", {1: 2, 2: 2}, None, (), ()),
        ("bait_station", {}, 1, (), ()),
        ("bait_station", {}, 2, (), ("1/2 of the bait eaten, threshold 1/2",)),
        ("bait_station", {}, 0, (), ()),
        # the firm's rows: of the pest before of every pest; none is never over
        ("trap", {1: 2}, None, RULES, ("2 pest 1, threshold 2",)),
        ("trap", {2: 99, 3: 4}, None, RULES, ()),
        ("trap", {3: 5}, None, RULES, ("5 pest 3, threshold 5",)),
        ("bait_station", {1: 99}, 2, RULES, ()),
        ("bait_station", {}, 4, RULES, ("all of the bait eaten, threshold 3/4",)),
        ("glue_monitor", {1: 3}, None, RULES, ("3 pest 1, threshold 3",)),
    ],
)
def test_over(
    kind: str, counts: dict[int, int], eaten: int | None, rules: tuple[Threshold, ...],
    said: tuple[str, ...],
) -> None:  # fmt: skip
    names = {pest: f"pest {pest}" for pest in counts}
    assert over_threshold(Found(kind, counts, names, eaten), rules) == said


@pytest.mark.parametrize(
    "row",
    [
        Threshold("drone"),
        Threshold("trap", None, None, None),
        Threshold("trap", None, 0),
        Threshold("trap", None, -3),
        Threshold("trap", None, 10_000),
        Threshold("trap", None, 3, 2),
        Threshold("bait_station", 1, None, 2),
        Threshold("bait_station", None, None, 0),
        Threshold("bait_station", None, None, 5),
    ],
)
def test_a_threshold_of_no_sense(row: Threshold) -> None:
    with said_no():
        refuse_threshold(row)


@pytest.mark.parametrize(
    "spot",
    [
        Spot("x", wall="North wall"),
        Spot("x", offset_mm=5),
        Spot("x", x_mm=5),
        Spot("x", wall="North wall", offset_mm=5, x_mm=1, y_mm=2),
        Spot("x", wall="North wall", offset_mm=-1),
        Spot("x", turn=0),
    ],
)
def test_half_a_place_on_the_plan(spot: Spot) -> None:
    with said_no():
        refuse_place_on_plan(spot)


@pytest.mark.parametrize(
    ("answered", "after", "next_id", "left"),
    [
        ((), None, 10, (10, 20, 30)),
        ((10,), 10, 20, (20, 30)),
        ((10,), 20, 30, (20, 30)),  # 20 was left out for now
        ((10, 30), 30, None, (20,)),  # the end of the row, one still open
        ((10, 30), None, 20, (20,)),  # resumed later
        ((10, 20, 30), None, None, ()),
        ((), 99, 10, (10, 20, 30)),  # comes from a device that is gone
    ],
)
def test_where_a_round_stands(
    answered: tuple[int, ...], after: int | None, next_id: int | None, left: tuple[int, ...]
) -> None:
    stands = standing([10, 20, 30], answered, after)
    assert (stands.next_id, stands.open_ids) == (next_id, left)
    assert stands.words == f"{len(answered)} of 3"


def test_a_round_without_devices_is_at_its_end() -> None:
    assert standing([], (), None).next_id is None
