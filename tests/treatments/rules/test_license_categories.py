"""Which license category a use needs and whether a license lists it.

Sources: 40 CFR 171.101(c) and (g) (read on a state's page that quotes them); 7 Pa. Code 128.42(6)
and (7) (read); Ohio's licensing page for 6a and 8 (read), notes for its examination for 10a
(second hand). Nothing here is verified by the firm, so every answer warns at most.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from sites.rules.places import Place
from tests.treatments.rules.label_cases import CERTIFIED, LABEL, TECHNICIAN, USE, judged, only
from treatments.rules.label_checks import LabelLimit
from treatments.rules.license_categories import (
    Category,
    categories_that_do,
    lists_one_of,
    rule_asking,
)
from treatments.rules.products import Comparison, LimitFact, Severity

STRUCTURAL = frozenset({Category.STRUCTURAL})
EITHER = frozenset({Category.STRUCTURAL, Category.ORNAMENTAL})


@pytest.mark.parametrize(
    ("places", "wanted"),
    [
        ({Place.FOUNDATION_WALL}, STRUCTURAL),  # 171.101(g): in, on or around a dwelling
        ({Place.FOOD_AREA, Place.VOID}, STRUCTURAL),
        ({Place.SOIL_BAND}, STRUCTURAL),  # (g): structures and adjacent areas
        ({Place.VEGETATION}, EITHER),  # (c): ornamental plants and turf
        ({Place.VEGETATION, Place.FOUNDATION_WALL}, STRUCTURAL),
        (set(), STRUCTURAL),
    ],
)
def test_what_work_on_places_needs(places: set[Place], wanted: frozenset[str]) -> None:
    assert categories_that_do(places) == wanted


@pytest.mark.parametrize(
    ("state", "is_restricted_use", "says"),
    [
        ("NY", True, "40 CFR 171.101"),  # the federal rule is of restricted use alone
        ("NY", False, ""),
        ("PA", False, "7 Pa. Code 128.42"),  # "the application of a pesticide"
        ("OH", False, "Ohio"),
    ],
)
def test_which_rule_asks(state: str, is_restricted_use: bool, says: str) -> None:
    rule = rule_asking(state, is_restricted_use=is_restricted_use)
    assert says in rule and bool(rule) == bool(says)


@pytest.mark.parametrize(
    ("held", "state", "wanted", "does"),
    [
        ("Structural pest (demonstration)", "OH", STRUCTURAL, True),
        ("10a", "OH", STRUCTURAL, True),
        ("10A General Pest", "OH", STRUCTURAL, True),
        ("10a", "PA", STRUCTURAL, False),  # a code means what its own state says
        ("8", "OH", STRUCTURAL, False),
        ("8", "OH", EITHER, True),
        ("07", "PA", EITHER, True),
        ("ornamental & shade trees", "PA", EITHER, True),
        ("", "OH", STRUCTURAL, False),
    ],
)
def test_what_a_license_lists(held: str, state: str, wanted: frozenset[str], does: bool) -> None:
    assert lists_one_of([held], wanted, state) is does


NEEDED = replace(USE, categories=STRUCTURAL, category_clause="40 CFR 171.101")


@pytest.mark.parametrize(
    ("categories", "severity"),
    [
        (frozenset({"10a"}), Severity.NOTE),
        (frozenset({"8"}), Severity.WARN),
        (frozenset(), Severity.WARN),
    ],
)
def test_a_certified_license_without_the_category_warns(
    categories: frozenset[str], severity: Severity
) -> None:
    use = replace(NEEDED, license=replace(CERTIFIED, categories=categories))
    found = only("category", LABEL, use)
    assert (found.severity, found.clause) == (severity, "40 CFR 171.101")


def test_who_is_not_certified_is_judged_by_their_supervisor() -> None:
    facts = replace(LABEL, is_restricted_use=True)
    use = replace(NEEDED, license=TECHNICIAN, supervisor=replace(CERTIFIED, categories=frozenset()))
    assert judged("category", facts, use) == []
    assert only("supervisor_category", facts, use).severity == Severity.WARN
    listed = replace(CERTIFIED, categories=frozenset({"General pest control"}))
    assert judged("supervisor_category", facts, replace(use, supervisor=listed)) == []


@pytest.mark.parametrize(
    ("held", "severity"), [("7B", Severity.NOTE), ("7b", Severity.NOTE), ("10a", Severity.REFUSE)]
)
def test_a_label_may_name_the_category(held: str, severity: Severity) -> None:
    row = LabelLimit(
        LimitFact.LICENSE_CATEGORY, Comparison.REQUIRED, clause="Label, page 1", named="7B"
    )
    use = replace(USE, license=replace(CERTIFIED, categories=frozenset({held})))
    found = only("label_category", replace(LABEL, limits=(row,)), use)
    assert (found.severity, found.clause) == (severity, "Label, page 1")
