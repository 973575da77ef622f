"""What is asked of bait for rodents, and of nothing else (house rules, they warn)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sites.rules.places import PestGroup, Place
from tests.treatments.rules.label_cases import LABEL, USE, in_zone, judged
from treatments.rules.label_checks import ProposedUse, check
from treatments.rules.products import Method, Severity
from treatments.rules.rodent_questions import AFTERWARDS, BEFORE, rodent_questions

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
