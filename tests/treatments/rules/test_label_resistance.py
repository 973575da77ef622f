"""One group again and again, and repellent spray with bait: house rules."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import pytest

from sites.rules.places import PestGroup
from tests.treatments.rules.label_cases import DAY, LABEL, USE, judged, with_limit
from treatments.rules.label_checks import EarlierUse, LabelLimit, ProposedUse, check
from treatments.rules.products import Comparison, Formulation, LimitFact, Method, Severity

ROACH = {"German cockroach": PestGroup.COCKROACHES}
PYRETHROID, BAIT_GROUP = frozenset({"3A"}), frozenset({"22A"})


def earlier(days: int, groups: frozenset[str] = PYRETHROID, **changes: object) -> EarlierUse:
    used = EarlierUse(DAY - timedelta(days=days), frozenset(ROACH), groups, False, True)
    return replace(used, **changes)


def using(*before: EarlierUse, **changes: object) -> ProposedUse:
    use = replace(USE, pests=ROACH, irac_groups=PYRETHROID, earlier=before)
    return replace(use, **changes)


@pytest.mark.parametrize(
    ("use", "severities"),
    [
        (using(earlier(90)), ["warn"]),  # breeds indoors
        (using(earlier(90), pests={"Bed bug": PestGroup.OTHER}), []),  # it was against another
        (
            using(earlier(90, pests=frozenset({"Bed bug"})), pests={"Bed bug": PestGroup.OTHER}),
            ["warn"],
        ),
        (
            using(
                earlier(90, pests=frozenset({"Pavement ant"})),
                pests={"Pavement ant": PestGroup.ANTS},
            ),
            ["note"],  # lives outdoors: folded
        ),
        (using(earlier(90, BAIT_GROUP)), []),  # another group
        (using(earlier(90), earlier(30, BAIT_GROUP)), []),  # another group came between
        (using(earlier(90, is_here=False)), []),  # elsewhere at the property
        (using(earlier(90), irac_groups=frozenset()), []),  # no group is known
        (using(), []),
    ],
)
def test_one_group_twice_in_a_row(use: ProposedUse, severities: list[str]) -> None:
    assert [one.severity for one in judged("resistance", LABEL, use)] == severities


ROTATION = replace(
    LABEL,
    limits=(
        LabelLimit(
            LimitFact.ROTATION,
            Comparison.REQUIRED,
            severity=Severity.NOTE,
            clause="Label, page 3",
            sentence="Rotate with other groups.",
        ),
    ),
)


@pytest.mark.parametrize(
    ("use", "severity", "sentence"),
    [
        (
            using(earlier(90), irac_schemes={"3A": "11.3"}),
            "warn",
            "IRAC group 3A (scheme 11.3) was used last against German cockroach here, Jun 12, "
            "2026. The label: Rotate with other groups.",
        ),
        (
            using(irac_schemes={"3A": "11.3"}),
            "note",
            "IRAC group 3A (scheme 11.3). The label: Rotate with other groups.",
        ),
        (using(irac_groups=frozenset()), "note", "The label: Rotate with other groups."),
    ],
)
def test_the_rotation_statement_stands_with_its_page(
    use: ProposedUse, severity: str, sentence: str
) -> None:
    """Groups are versioned (IRAC scheme, read): 3A means what its version says."""
    (found,) = judged("resistance", ROTATION, use)
    assert (found.severity, found.sentence, found.clause) == (severity, sentence, "Label, page 3")


@pytest.mark.parametrize(
    ("before", "severities", "where"),
    [
        (earlier(13, BAIT_GROUP, is_bait=True), ["warn"], "in these zones"),
        (earlier(14, BAIT_GROUP, is_bait=True), [], ""),  # 14 days, a house rule
        (earlier(1, BAIT_GROUP, is_bait=True, is_here=False), ["warn"], "elsewhere"),
        (earlier(1), [], ""),  # spray after spray
        (earlier(-1, BAIT_GROUP, is_bait=True), [], ""),  # only what came before
    ],
)
def test_repellent_spray_after_bait(before: EarlierUse, severities: list[str], where: str) -> None:
    found = judged("bait", LABEL, using(before))
    assert [one.severity for one in found] == severities
    assert all(where in one.sentence for one in found)


def test_bait_after_repellent_spray_and_a_spray_that_does_not_repel() -> None:
    gel = replace(LABEL, formulation=Formulation.GEL)
    for facts, use in (
        (LABEL, using(earlier(2), method=Method.BAIT, irac_groups=BAIT_GROUP)),
        (gel, using(earlier(2), irac_groups=BAIT_GROUP)),
    ):
        (found,) = judged("bait", facts, use)
        assert found.severity == Severity.WARN
        assert found.sentence.startswith("A repellent product was put in these zones on Sep 8")
    bait = earlier(2, BAIT_GROUP, is_bait=True)
    assert judged("bait", LABEL, using(bait, irac_groups=frozenset({"4A"}))) == []
    assert judged("bait", gel, using(bait, irac_groups=BAIT_GROUP)) == []


@pytest.mark.parametrize(
    ("days", "is_here", "severity"),
    [(29, True, Severity.REFUSE), (29, False, Severity.WARN), (30, True, None)],
)
def test_a_row_of_the_label_gives_days_and_severity(
    days: int, is_here: bool, severity: Severity | None
) -> None:
    facts = with_limit(LimitFact.BAIT_DAYS, Comparison.AT_LEAST, "30")
    found = judged("bait", facts, using(earlier(days, BAIT_GROUP, is_bait=True, is_here=is_here)))
    assert [one.severity for one in found] == [severity] * (severity is not None)
    assert all(one.clause == "Label 99999-101 demo, page 4" for one in found)
    assert judged("bait_days", facts, using()) == []


def test_the_order_of_what_was_used_does_not_matter() -> None:
    before = [earlier(90), earlier(9, BAIT_GROUP, is_bait=True), earlier(9, is_here=False)]
    answers = {
        frozenset(check(LABEL, using(*some), before_mixing=True)) for some in permutations(before)
    }
    assert len(answers) == 1
