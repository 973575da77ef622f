"""What is asked of bait for rodents, and of nothing else (house rules, they warn)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.places import PestGroup, Place
from sites.rules.units import plain
from tests.treatments.rules.label_cases import LABEL, USE, in_zone, judged
from treatments.models import SafetyAnswer
from treatments.rules.label_checks import ProposedUse, check
from treatments.rules.products import Method, Severity
from treatments.rules.questions import amount_of, answer_words, kept_answer
from treatments.rules.rodent_questions import AFTERWARDS, BEFORE, refuse_amounts, rodent_questions

MICE = {"House mouse": PestGroup.RODENTS}
BAITED = replace(USE, pests=MICE, method=Method.BAIT)
CODES = [one.code for one in BEFORE]


@pytest.mark.parametrize(
    ("method", "groups", "asks"),
    [
        (Method.BAIT, [PestGroup.RODENTS], True),
        (Method.BAIT, [PestGroup.ANTS, PestGroup.RODENTS], True),
        (Method.BAIT, [PestGroup.ANTS], False),
        (Method.DUST, [PestGroup.RODENTS], False),
    ],
)
def test_only_bait_for_rodents_is_asked(
    method: Method, groups: list[PestGroup], asks: bool
) -> None:
    assert bool(rodent_questions(method, groups)) is asks


@pytest.mark.parametrize("code", CODES)
def test_a_no_warns_and_never_refuses(code: str) -> None:
    (found,) = judged(code, LABEL, replace(BAITED, answers={code: "no"}))
    assert (found.severity, bool(found.to_do)) == (Severity.WARN, True)
    (found,) = judged(code, LABEL, replace(BAITED, answers={code: "yes"}))
    assert found.severity == Severity.NOTE


def test_what_was_eaten_is_asked_of_the_record_only() -> None:
    codes = {one.code for one in AFTERWARDS}
    before = {one.code for one in check(LABEL, BAITED, before_mixing=True)}
    after = {one.code for one in check(LABEL, BAITED, before_mixing=False)}
    assert not codes & before and codes <= after


@pytest.mark.parametrize(
    ("use", "warns"),
    [
        (USE, False),
        (replace(USE, has_bees=True), True),
        (replace(USE, has_bees=True, method=Method.BAIT), False),
        (replace(in_zone(place=Place.ATTIC), has_bees=True), False),
    ],
)
def test_keepers_of_bees_are_told_of_work_outside(use: ProposedUse, warns: bool) -> None:
    found = judged("bees", LABEL, use)
    assert [one.severity for one in found] == [Severity.WARN] * warns


@pytest.mark.parametrize(
    ("typed", "kept", "said"),
    [
        ("12 g", "12 g", "12 g"),
        ("0.5 oz", "0.5 oz_wt", "0.5 oz (wt)"),
        ("1 lb", "1 lb", "1 lb"),
        ("3 placements", "3 each", "3 placements"),
        ("1 station", "1 each", "1 placement"),
        ("0", "0 each", "0 placements"),
        ("9998.125 oz_wt", "9998.125 oz_wt", "9998.125 oz (wt)"),
    ],
)
def test_an_amount_of_bait_is_a_number_and_a_unit(typed: str, kept: str, said: str) -> None:
    question = AFTERWARDS[1]
    assert kept_answer(question, typed) == kept
    assert answer_words(kept) == said
    assert len(kept) <= SafetyAnswer._meta.get_field("answer").max_length


@pytest.mark.parametrize(
    "typed",
    ["12", "half", "12 gal", "-1 g", "1.5 placements", "1.2345 g", "10000 g", "1e3 g", "g 12"],
)
def test_what_cannot_be_added_up_is_refused(typed: str) -> None:
    with pytest.raises(Refused):
        refuse_amounts([("bait_eaten", typed)])
    refuse_amounts([("closed_from_to", typed)])


def test_placements_are_counted_and_not_weighed() -> None:
    assert kept_answer(AFTERWARDS[0], "6") == "6 each"
    with pytest.raises(Refused):
        refuse_amounts([("bait_placements", "6 g")])


@given(st.lists(st.decimals(0, 9999, places=3), max_size=9))
def test_amounts_kept_add_up(weights: list[Decimal]) -> None:
    kept = [kept_answer(AFTERWARDS[1], f"{plain(one)} g") for one in weights]
    assert sum((amount_of(one).value for one in kept), Decimal(0)) == sum(weights, Decimal(0))
