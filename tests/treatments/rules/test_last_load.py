"""A small last load: three ways in their order. House rule / common practice, no source."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.branch_units import METRIC
from treatments.rules.last_load import NextStop, Tank, Way, is_hard, is_small, ways


def d(text: str) -> Decimal:
    return Decimal(text)


CAN, PACK, RIG = Tank("1-gal can", d("1")), Tank("4-gal pack", d("4")), Tank("50-gal rig", d("50"))
NEAR = NextStop("Ellwood", True, d("0.6"))
FORBIDDEN = NextStop("Castellane", False, d("5"))
SMALL = NextStop("Brindle Row", True, d("0.05"))
GALLONS = st.decimals(min_value="0.01", max_value="60", places=2)
TANKS = st.decimals(min_value="0.5", max_value="60", places=1)


@pytest.mark.parametrize(
    ("finished", "tank", "small"),
    [
        ("1.6", "1", False),  # 0.6 gal is more than a quarter
        ("2", "1", False),  # nothing is over
        ("2.25", "1", False),  # a quarter itself can be measured
        ("2.24", "1", True),
        ("0.2", "1", True),  # one load that hardly covers the bottom
        ("4.9", "4", True),
    ],
)
def test_what_is_small(finished: str, tank: str, small: bool) -> None:
    assert is_small(d(finished), d(tank)) is small


@pytest.mark.parametrize(
    ("finished", "tank", "tanks", "stops", "said"),
    [
        # nothing to do
        ("1.6", "1", (PACK,), (NEAR,), []),
        # equal loads need nothing else
        ("2.2", "1", (), (), ["Mix 3 equal loads of 0.73 gal."]),
        # a tank that takes all in one load
        (
            "2.2",
            "1",
            (RIG, PACK, CAN),
            (),
            ["Mix 3 equal loads of 0.73 gal.", "Take 4-gal pack: 1 load of 2.20 gal."],
        ),
        # the smallest bigger tank is left out where its own load would be small
        ("2.2", "1", (RIG,), (), ["Mix 3 equal loads of 0.73 gal."]),
        # the rest of a quarter goes to the first stop that is allowed and takes it
        (
            "2.2",
            "1",
            (),
            (FORBIDDEN, SMALL, NEAR),
            [
                "Mix 3 equal loads of 0.73 gal.",
                "Mix 0.25 gal for the last load and keep the rest, 0.05 gal, for Brindle Row.",
            ],
        ),
        # what is left must be put out somewhere
        ("2.1", "1", (), (FORBIDDEN, SMALL), ["Mix 3 equal loads of 0.70 gal."]),
        # a single small load cannot be shared out
        (
            "0.1",
            "1",
            (PACK,),
            (NEAR,),
            ["Mix 0.25 gal for the last load and keep the rest, 0.15 gal, for Ellwood."],
        ),
    ],
)
def test_the_ways_in_their_order(
    finished: str,
    tank: str,
    tanks: tuple[Tank, ...],
    stops: tuple[NextStop, ...],
    said: list[str],
) -> None:
    assert [way.words for way in ways(d(finished), d(tank), tanks, stops)] == said


@pytest.mark.parametrize(
    ("finished", "least", "stops", "said"),
    [
        # the last 0.4 gal are no small load, but hold less than a mark of the measure
        ("1.4", "0.5", (NEAR,), [
            "Mix 2 equal loads of 0.70 gal.",
            "Take 4-gal pack: 1 load of 1.40 gal.",
            "Mix 0.50 gal for the last load and keep the rest, 0.10 gal, for Ellwood.",
        ]),
        # equal loads hold less than a mark as well
        ("1.4", "0.71", (), ["Take 4-gal pack: 1 load of 1.40 gal."]),
        # not even a full tank holds a mark
        ("2", "1.5", (NEAR,), ["Take 4-gal pack: 1 load of 2.00 gal."]),
        ("1", "1.5", (NEAR,), []),
        # the next bigger tank would hold too little in each load as well, the one after it not
        ("7.6", "3.9", (), ["Take 20-gal rig: 1 load of 7.60 gal."]),
        # one load, and nobody takes the rest
        ("0.4", "0.5", (), []),
        # the batch is said in hundredths of a gallon: up to the next one
        ("0.4", "0.501", (NEAR,), [
            "Mix 0.51 gal for the last load and keep the rest, 0.11 gal, for Ellwood.",
        ]),
    ],
)  # fmt: skip
def test_a_load_under_a_mark_of_the_measure(
    finished: str, least: str, stops: tuple[NextStop, ...], said: list[str]
) -> None:
    tanks = (PACK, Tank("20-gal rig", d("20"))) if finished == "7.6" else (PACK,)
    found = ways(d(finished), d("1"), tanks, stops, least_gal=d(least))
    assert [way.words for way in found] == said


def test_the_ways_in_the_units_of_the_branch() -> None:
    """1 gal is 3.785411784 L (NIST Handbook 44)."""
    equal, batch = ways(d("2.2"), d("1"), (), (NEAR,))
    assert equal.said(METRIC) == "Mix 3 equal loads of 2.78 L."
    assert batch.said(METRIC) == (
        "Mix 0.95 L for the last load and keep the rest, 0.19 L, for Ellwood."
    )


@given(
    finished=GALLONS,
    tank=TANKS,
    others=st.lists(TANKS, max_size=4),
    takes=GALLONS,
    least=st.sampled_from([d("0"), d("0.01"), d("0.3"), d("2")]),
)
def test_what_every_way_keeps(
    finished: Decimal, tank: Decimal, others: list[Decimal], takes: Decimal, least: Decimal
) -> None:
    tanks = [Tank(f"Tank {gallons}", gallons) for gallons in others]
    stops = [NextStop("Forbidden", False, Decimal(99)), NextStop("Allowed", True, takes)]
    found = ways(finished, tank, tanks, stops, least)
    assert [way.way for way in found] == [way for way in Way if way in {w.way for w in found}]
    assert bool(found) <= is_hard(finished, tank, least)
    for way in found:
        assert way.gallons >= least
        if way.way == Way.BATCH:
            # what is mixed is what this stop takes and what the next one gets, from one tank
            mixed = (way.loads - 1) * tank + way.gallons
            assert mixed == finished + way.rest_gal
            assert (way.next_stop, takes >= way.rest_gal > 0) == ("Allowed", True)
            continue
        # equal loads make up the stop's spray, fit the tank and are not small
        holds = tank if way.way == Way.EQUAL else Decimal(way.tank.removeprefix("Tank "))
        assert abs(way.loads * way.gallons - finished) < Decimal("1e-20")
        assert way.gallons <= holds
        assert way.gallons * 4 >= holds
