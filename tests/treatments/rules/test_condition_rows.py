"""Conditions as rows and back; the closed set is that of `rules/predicates.py`."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from accounts.refusals import Refused
from treatments.rules.condition_rows import (
    COMPARED_WORDS,
    DISTANCE,
    UNITS,
    Join,
    Literal,
    condition_of,
    rows_of,
)
from treatments.rules.predicates import Condition, Fact, Job, holds, refuse_condition

PROFILES = json.loads((Path("treatments") / "profiles.json").read_text())


def _conditions() -> list[Condition]:
    found: list[Condition] = [one["applies"] for one in PROFILES]
    for one in PROFILES:
        found += [said["when"] for said in one["fields"].values() if isinstance(said, dict)]
        found += [group["when"] for group in one["one_of"] if "when" in group]
    return found


@pytest.mark.parametrize("condition", _conditions(), ids=json.dumps)
def test_every_condition_of_our_file_comes_back_as_it_is(condition: Condition) -> None:
    rows = rows_of(condition)
    assert rows is not None
    assert condition_of(*rows) == condition


@pytest.mark.parametrize(
    ("condition", "rows"),
    [
        ({"all": []}, (Join.ALL, ())),
        ("is_rup", (Join.ALL, (Literal("is_rup"),))),
        ({"not": "device"}, (Join.ALL, (Literal("device", False),))),
        ("units>=5", (Join.ALL, (Literal(UNITS, True, 5),))),
        (
            {"not": {"any": ["device", f"{DISTANCE}3"]}},
            (Join.ALL, (Literal("device", False), Literal(DISTANCE, False, 3))),
        ),
        ({"any": ["device", {"not": "outdoor"}]},
         (Join.ANY, (Literal("device"), Literal("outdoor", False)))),
        ({"not": {"all": ["device"]}}, (Join.ANY, (Literal("device", False),))),
        ({"not": {"not": "device"}}, (Join.ALL, (Literal("device"),))),
        # nested deeper, or never true: no rows
        ({"all": [{"any": ["device", "outdoor"]}]}, None),
        ({"any": []}, None),
    ],
)  # fmt: skip
def test_rows_of_a_condition(condition: Condition, rows: object) -> None:
    assert rows_of(condition) == rows


LITERALS = st.builds(
    lambda asked, is_wanted, number: Literal(
        asked, is_wanted, number if asked in COMPARED_WORDS else None
    ),
    st.sampled_from([*map(str, Fact), *COMPARED_WORDS]),
    st.booleans(),
    st.integers(0, 9999),
)
JOBS = st.builds(
    lambda facts, distance, units: Job(facts, distance, units),
    st.dictionaries(st.sampled_from(list(Fact)), st.booleans()),
    st.none() | st.integers(0, 20).map(Decimal),
    st.none() | st.integers(0, 20),
)


@settings(max_examples=50)
@given(join=st.sampled_from(Join), literals=st.lists(LITERALS, max_size=4), job=JOBS)
def test_what_was_typed_means_the_same_when_it_is_shown_again(
    join: Join, literals: list[Literal], job: Job
) -> None:
    condition = condition_of(join, literals)
    refuse_condition(condition)
    rows = rows_of(condition)
    assert rows is not None
    assert holds(condition_of(*rows), job) == holds(condition, job)
    singles: list[Any] = [holds(condition_of(join, [one]), job) for one in literals]
    if join == Join.ALL or not literals:
        expected = False if False in singles else None if None in singles else True
    else:
        expected = True if True in singles else None if None in singles else False
    assert holds(condition, job) is expected


@pytest.mark.parametrize(
    "literal",
    [
        Literal(DISTANCE),
        Literal(UNITS, True, -1),
        Literal(UNITS, True, 10_000),
        Literal("device", True, 3),
    ],
)
def test_a_number_that_is_missing_or_too_many_is_refused(literal: Literal) -> None:
    with pytest.raises(Refused) as refused:
        condition_of(Join.ALL, [literal])
    assert refused.value.code == "condition"


def test_no_rule_read_so_far_says_what_a_silent_label_allows() -> None:
    """Looked for in every state's rule read: none says it, so it is not known and only warns."""
    states = [one for one in PROFILES if one["reach"] == "state"]
    said = {one[name] for one in states for name in ("unlisted_pest", "unlisted_method")}
    assert said == {"unknown"} and len(states) == 25
