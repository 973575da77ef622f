"""Ranking what is allowed instead: nearest first, another ingredient group first."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.alternatives import (
    MOST_SHOWN,
    Candidate,
    is_another_group,
    of_other_lots,
    of_other_products,
    of_the_label,
    passes,
)
from treatments.rules.label_checks import Judgement
from treatments.rules.products import Method, Severity

REFUSED = Candidate(1, Method.PERIMETER_BAND, 10, "Demonstration A SC", frozenset({"3A"}))


def of_label(direction: int, method: Method, warnings: int = 0) -> Candidate:
    return replace(REFUSED, direction=direction, method=method, warnings=warnings)


def product(name: str, *groups: str, direction: int = 9, label: int = 20) -> Candidate:
    return Candidate(direction, Method.SPOT, label, name, frozenset(groups))


def test_the_same_direction_comes_before_the_same_method_of_another() -> None:
    spot, other_band = of_label(1, Method.SPOT), of_label(2, Method.PERIMETER_BAND)
    other_spot = of_label(2, Method.SPOT)
    found = of_the_label(REFUSED, [other_spot, other_band, REFUSED, spot])
    assert found == (spot, other_band, other_spot)  # what was refused is never offered


def test_fewer_things_to_look_at_come_first() -> None:
    clean, asks = of_label(3, Method.SPOT), of_label(2, Method.SPOT, warnings=2)
    assert of_the_label(REFUSED, [asks, clean]) == (clean, asks)


def test_another_label_is_no_treatment_of_this_one() -> None:
    newer = replace(REFUSED, direction=5, label=11)
    assert of_the_label(REFUSED, [newer]) == ()
    assert of_other_products(REFUSED, [newer]) == ()
    spot = replace(newer, method=Method.SPOT, direction=4)
    assert of_other_lots(REFUSED, [spot, newer, REFUSED, product("B")]) == (newer,)


def test_another_group_comes_first_then_the_name() -> None:
    """Other ingredient group first."""
    same, other, unknown = product("B", "3B"), product("Z", "4A"), product("A")
    assert of_other_products(REFUSED, [same, unknown, other]) == (other, unknown, same)


def test_a_product_is_offered_once_by_the_nearest_of_its_directions() -> None:
    spot = product("B", "4A", direction=7)
    band = replace(spot, direction=8, method=Method.PERIMETER_BAND)
    assert of_other_products(REFUSED, [spot, band]) == (band,)


@pytest.mark.parametrize(
    ("first", "second", "another"),
    [
        (["3A"], ["4A"], True),
        (["3A"], ["3B"], False),  # one site of action, two chemistries
        (["4A"], ["14"], True),
        (["1A"], ["11A"], True),  # 1 and 11 are two numbers
        (["3A", "4A"], ["4C"], False),  # a product of two ingredients shares one of them
        ([""], ["4A"], False),  # not entered
        (["3a "], ["3A"], False),
        (["UN"], ["3A"], False),  # a site of action that nobody knows
    ],
)
def test_which_groups_are_another(first: list[str], second: list[str], another: bool) -> None:
    assert is_another_group(first, second) is another
    assert is_another_group(second, first) is another


@pytest.mark.parametrize(
    ("code", "severity", "passed"),
    [
        ("place", Severity.REFUSE, False),
        ("rate", Severity.VIOLATION, False),
        ("method", Severity.WARN, False),  # somebody would have to sign first: FIFRA 2(ee)
        ("pest", Severity.WARN, False),
        ("wind", Severity.WARN, True),
        ("place", Severity.NOTE, True),
    ],
)
def test_only_what_needs_nobody_passes(code: str, severity: Severity, passed: bool) -> None:
    assert passes([Judgement(code, severity, "", "")]) is passed


candidates = st.builds(
    Candidate,
    direction=st.integers(1, 6),
    method=st.sampled_from(Method),
    label=st.integers(10, 12),
    product_name=st.sampled_from(["Demonstration A SC", *"BCDEFGH"]),
    groups=st.frozensets(st.sampled_from(["3A", "4A", ""])),
)


@given(st.lists(candidates))
def test_never_more_than_five_never_twice_never_the_refused(found: list[Candidate]) -> None:
    ranked = of_the_label(REFUSED, found)
    others = of_other_products(REFUSED, found)
    assert max(len(ranked), len(others)) <= MOST_SHOWN
    assert {*ranked, *others} <= set(found)
    assert all((one.direction, one.method) != (1, Method.PERIMETER_BAND) for one in ranked)
    assert all(one.label == REFUSED.label for one in ranked)
    names = [one.product_name for one in others]
    assert len(names) == len(set(names))
    assert REFUSED.product_name not in names
