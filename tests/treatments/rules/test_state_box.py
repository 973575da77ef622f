"""The box of a record: the order of the state, and what is missing, against the field matrix.

Items of Ohio, Maryland and New Mexico as in OAC 901:5-11, COMAR 15.05.01.12 and 21.17.50.10 NMAC
(read in the texts that `treatments/profiles.json` cites).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.treatments.rules.profile_cases import ENTRIES, VERIFIED, job
from treatments.rules.predicates import Fact, Job
from treatments.rules.profile_file import read_profile
from treatments.rules.profile_words import ITEM_WORDS, Item, Mark, Reach
from treatments.rules.profiles import ALWAYS, Ask, OneOf, Profile
from treatments.rules.state_box import BOX_WORDS, OUR_ORDER, Standing, box, order_of

NO_JOB = Job()


def standings(
    profiles: list[Profile], values: dict[Item, str], about: Job = NO_JOB
) -> dict[str, Standing]:
    return {line.name: line.standing for line in box(values, profiles, (), about)}


def name(item: Item) -> str:
    return BOX_WORDS.get(item, ITEM_WORDS[item])


def test_our_own_order_holds_every_item_once() -> None:
    assert sorted(OUR_ORDER) == sorted(Item)


def test_the_order_of_the_state_comes_first_and_then_our_own() -> None:
    order = ["target_pest", "applicator_name", "no_such_item", "target_pest"]
    lines = [line.name for line in box({}, [], order, NO_JOB)]
    assert lines[:3] == ["Pest", "Applicator", "Business license"]
    assert len(lines) == len(set(lines)) == len(Item)


@pytest.mark.parametrize(
    ("orders", "expected"),
    [
        ({Reach.STATE: ["a"], Reach.FEDERAL: ["b"]}, ["a"]),
        ({Reach.STATE: [], Reach.FEDERAL: ["b"]}, ["b"]),
        ({Reach.FIRM: ["c"]}, ()),
    ],
)
def test_the_federal_order_holds_where_the_state_has_none(
    orders: dict[Reach, list[str]], expected: object
) -> None:
    assert order_of(orders) == expected


@pytest.mark.parametrize(
    ("code", "about", "item", "value", "expected"),
    [
        # OH: the end is required
        ("US-OH", NO_JOB, Item.END_TIME, "", Standing.MISSING),
        ("US-OH", NO_JOB, Item.END_TIME, "9:54 AM", Standing.GIVEN),
        # OH, structural work: wind is not in the list
        ("US-OH", job(Fact.IN_STRUCTURE), Item.WIND_SPEED, "",
         Standing.NOT_ASKED),
        # MD: no wind within 3 ft of a structure, wind beyond
        ("US-MD", job(Fact.OUTDOOR, distance_ft="3"),
         Item.WIND_SPEED, "", Standing.NOT_ASKED),
        ("US-MD", job(Fact.OUTDOOR, distance_ft="3.5"),
         Item.WIND_SPEED, "", Standing.MISSING),
    ],
)  # fmt: skip
def test_an_item_is_given_missing_or_not_asked(
    code: str, about: Job, item: Item, value: str, expected: Standing
) -> None:
    found = standings([VERIFIED[code]], {item: value}, about)
    assert found[name(item)] == expected


def test_a_rule_that_nobody_verified_says_so() -> None:
    found = standings([read_profile(ENTRIES["US-OH"])], {})
    assert found[name(Item.END_TIME)] == Standing.UNSURE


def test_one_of_several_ways_is_enough() -> None:
    # WI: (concentration AND total quantity) OR (amount per unit area AND total area)
    ways = (
        frozenset({Item.DILUTION, Item.FINISHED_AMOUNT}),
        frozenset({Item.APPLICATION_RATE, Item.AREA_TREATED}),
    )
    rule = Profile(
        "X", 1, Reach.STATE, VERIFIED["US-WI"].effective_on, "invented", is_verified=True,
        asks={Item.PARTICIPANTS: Ask(Mark.IF_ANY)}, one_of=(OneOf(ways, ALWAYS),),
    )  # fmt: skip
    given_way = {Item.APPLICATION_RATE: "1 fl oz", Item.AREA_TREATED: "600 sq ft"}
    found = standings([rule], given_way)
    assert found[name(Item.DILUTION)] == Standing.OTHER_WAY
    assert found[name(Item.PARTICIPANTS)] == Standing.NONE
    found = standings([rule], {Item.APPLICATION_RATE: "1 fl oz"})
    assert found[name(Item.AREA_TREATED)] == found[name(Item.DILUTION)] == Standing.MISSING


@given(st.lists(st.sampled_from([*Item, "strange"])), st.sets(st.sampled_from(list(Item))))
def test_every_item_stands_once_whatever_the_order(order: list[str], filled: set[Item]) -> None:
    lines = box(dict.fromkeys(filled, "x"), [], order, NO_JOB)
    assert sorted(line.name for line in lines) == sorted(map(name, Item))
    assert {line.name for line in lines if line.standing == Standing.GIVEN} == set(
        map(name, filled)
    )
