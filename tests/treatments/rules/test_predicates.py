"""The closed set of conditions: three values, and nothing but the set."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from tests.treatments.rules.profile_cases import ENTRIES, job
from treatments.rules.predicates import (
    Condition,
    Fact,
    Job,
    condition_words,
    holds,
    refuse_condition,
)

UNKNOWN = Job()
RUP = job(Fact.IS_RUP)


@pytest.mark.parametrize(
    ("condition", "about", "answer"),
    [
        # Kleene's three values (strong logic of indeterminacy): from memory, unverified
        ("is_rup", RUP, True),
        ("is_rup", UNKNOWN, None),
        ({"not": "is_rup"}, RUP, False),
        ({"not": "is_rup"}, UNKNOWN, None),
        ({"all": []}, UNKNOWN, True),
        ({"any": []}, UNKNOWN, False),
        ({"all": ["is_rup", "outdoor"]}, RUP, False),
        ({"any": ["is_rup", "outdoor"]}, RUP, True),
        ({"all": ["outdoor", "is_rup"]}, Job({Fact.IS_RUP: False}), False),
        ({"any": ["outdoor", "is_rup"]}, Job({Fact.IS_RUP: True}), True),
        ({"any": ["outdoor", "is_rup"]}, Job({Fact.IS_RUP: False}), None),
        # a bound is inside it
        ("max_distance_from_structure_ft<=3", job(distance_ft="3"), True),
        ("max_distance_from_structure_ft<=3", job(distance_ft="3.01"), False),
        ("max_distance_from_structure_ft<=3", UNKNOWN, None),
        ("units>=5", job(units=5), True),
        ("units>=5", job(units=4), False),
        ("units>=5", UNKNOWN, None),
    ],
)
def test_holds(condition: Condition, about: Job, answer: bool | None) -> None:
    refuse_condition(condition)
    assert holds(condition, about) is answer


@pytest.mark.parametrize(
    "condition",
    [
        "is_blue",
        "units>=-1",
        "max_distance_from_structure_ft<=3.5",
        "units>=5; drop",
        {"none": []},
        {"all": "is_rup"},
        {"all": [], "any": []},
        {},
        [],
        None,
        3,
        {"not": {"not": {"not": {"not": {"not": {"not": "is_rup"}}}}}},
    ],
)
def test_what_is_not_of_the_set_is_refused(condition: Any) -> None:
    with pytest.raises(Refused):
        refuse_condition(condition)


@pytest.mark.parametrize("code", ENTRIES)
def test_every_condition_of_ours_has_words(code: str) -> None:
    entry = ENTRIES[code]
    asks = [one for one in entry["fields"].values() if isinstance(one, dict)]
    conditions = [entry["applies"], *(one["when"] for one in asks)]
    for condition in conditions:
        refuse_condition(condition)
        assert "_" not in condition_words(condition)


def test_words() -> None:
    near: Condition = {"not": {"any": ["bait_station", "max_distance_from_structure_ft<=3"]}}
    said = "not (it is bait in stations, or it is all within 3 ft of a structure)"
    assert condition_words(near) == said
    assert condition_words({"all": ["units>=5"]}) == "the property has 5 units or more"


CONDITIONS = st.recursive(
    st.sampled_from([str(fact) for fact in Fact]),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda parts: {"all": parts}),
        st.lists(inner, max_size=3).map(lambda parts: {"any": parts}),
        inner.map(lambda part: {"not": part}),
    ),
    max_leaves=6,
)


@given(CONDITIONS, st.sets(st.sampled_from(list(Fact))), st.sets(st.sampled_from(list(Fact))))
def test_knowing_more_never_turns_an_answer_round(
    condition: Condition, true: set[Fact], unknown: set[Fact]
) -> None:
    whole = job(*true)
    part = Job({fact: said for fact, said in whole.facts.items() if fact not in unknown})
    answer = holds(condition, part)
    assert answer is None or answer is holds(condition, whole)
    assert holds(condition, whole) is not None
