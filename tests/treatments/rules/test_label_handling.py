"""Rows of a label about rate, water, run-off, surfaces and sites; label data is invented.

The facts a label has: reference/trade.md 2.1 (rate rows with the condition for the high rate,
run-off, watering in, agitation, pH, do-not-mix list, vacant-only, schools, rotation statement).
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import Amount
from tests.treatments.rules.label_cases import LABEL, USE, ZONE, d, in_zone, judged, only
from treatments.rules.label_checks import LabelFacts, LabelLimit, ProposedUse, check
from treatments.rules.label_checks.handling import agitation_steps, handling, with_agitation
from treatments.rules.label_checks.safety import asked
from treatments.rules.label_checks.use_sites import is_settled
from treatments.rules.products import Comparison, LimitFact, Severity

PAGE_4 = "Label 99999-101 demo, page 4"
AT_LEAST, AT_MOST = Comparison.AT_LEAST, Comparison.AT_MOST
REQUIRED, FORBIDDEN = Comparison.REQUIRED, Comparison.FORBIDDEN
WARN, NOTE, REFUSE = Severity.WARN, Severity.NOTE, Severity.REFUSE


def says(
    fact: LimitFact,
    comparison: Comparison,
    limit: str = "0",
    severity: Severity = REFUSE,
    sentence: str = "As the label says.",
) -> LabelFacts:
    row = LabelLimit(fact, comparison, d(limit), severity, PAGE_4, sentence=sentence)
    return replace(LABEL, limits=(row,))


HIGH = says(LimitFact.HIGH_RATE_ONLY, REQUIRED, sentence="High rate only for heavy infestations.")


@pytest.mark.parametrize(
    ("is_high", "answer", "severities"),
    [
        (False, "", []),  # the low and the middle rate ask for nothing
        (True, "", [WARN]),
        (True, "yes", [NOTE]),
        (True, "no", [REFUSE]),
    ],
)
def test_the_high_rate_asks_for_its_condition(
    is_high: bool, answer: str, severities: list[Severity]
) -> None:
    answers = {"high_rate_only": answer} if answer else {}
    use = replace(USE, is_high_rate=is_high, answers=answers)
    found = judged("high_rate_only", HIGH, use)
    assert [one.severity for one in found] == severities
    assert all(one.clause == PAGE_4 for one in found)
    assert all("heavy infestations" in one.sentence for one in found)


def test_afterwards_the_same_rows_are_violations() -> None:
    use = replace(USE, is_high_rate=True, is_over=True, answers={"high_rate_only": "no"})
    (found,) = [
        one for one in check(HIGH, use, before_mixing=False) if one.code == "high_rate_only"
    ]
    assert (found.severity, found.clause) == (Severity.VIOLATION, PAGE_4)


@pytest.mark.parametrize(("letters", "is_kept"), [(100, True), (290, False)])
def test_the_words_of_the_label_are_kept_where_they_fit(letters: int, is_kept: bool) -> None:
    facts = says(LimitFact.RUN_OFF, FORBIDDEN, sentence="a" * letters)
    (question,) = asked(facts, USE.method, {ZONE.place}, None)
    assert ("aaa" in question.kept) is is_kept and len(question.kept) <= 200


@pytest.mark.parametrize(
    ("fact", "comparison", "limit", "code", "words"),
    [
        (LimitFact.WATER_PH, AT_MOST, "7", "water_ph_at_most", "at most 7"),
        (LimitFact.WATER_PH, AT_LEAST, "5.5", "water_ph_at_least", "at least 5.5"),
        (LimitFact.RUN_OFF, REQUIRED, "0", "run_off", "to the point of run-off"),
        (LimitFact.RUN_OFF, FORBIDDEN, "0", "run_off_forbidden", "short of the point"),
        (LimitFact.WATERED_IN, REQUIRED, "0", "watered_in", "watered in, and by whom"),
        (LimitFact.WATERED_IN, FORBIDDEN, "0", "watered_in_forbidden", "nobody waters"),
        (LimitFact.WATERED_IN_DEPTH, AT_LEAST, "0.25", "watered_in_depth_at_least", "0.25 in"),
        (LimitFact.WATERED_IN_HOURS, AT_MOST, "24", "watered_in_hours_at_most", "at most 24 hours"),
        (LimitFact.VACANT_ONLY, REQUIRED, "0", "vacant_only", "vacant"),
        (LimitFact.SCHOOL, FORBIDDEN, "0", "school", "no school"),
        (LimitFact.SCHOOL_HOURS, REQUIRED, "0", "school_hours", "hours over"),
    ],
)
def test_what_a_person_answers_for(
    fact: LimitFact, comparison: Comparison, limit: str, code: str, words: str
) -> None:
    facts = says(fact, comparison, limit)
    (question,) = asked(facts, USE.method, {ZONE.place}, None)
    assert (question.code, question.clause) == (code, PAGE_4) and words in question.words
    for answer, severity in (("", WARN), ("yes", NOTE), ("no", REFUSE)):
        found = only(code, facts, replace(USE, answers={code: answer}))
        assert (found.severity, found.clause) == (severity, PAGE_4)


@pytest.mark.parametrize(
    ("fact", "comparison", "words"),
    [
        (LimitFact.AGITATION, REQUIRED, "Agitation of the tank: Shake it."),
        (LimitFact.WATER_PH, AT_MOST, "pH of the water, at most 7: Shake it."),
        (LimitFact.RUN_OFF, FORBIDDEN, "Spray to the point of run-off, not allowed: Shake it."),
        (LimitFact.WATERED_IN_DEPTH, AT_LEAST, "Water to water it in, at least 7: Shake it."),
    ],
)
def test_a_row_that_only_notes_is_said_and_not_asked(
    fact: LimitFact, comparison: Comparison, words: str
) -> None:
    facts = says(fact, comparison, "7", NOTE, "Shake it.")
    assert asked(facts, USE.method, {ZONE.place}, None) == ()
    found = only(fact, facts)
    assert (found.severity, found.sentence, found.clause) == (NOTE, words, PAGE_4)
    assert [(one.words, one.clause) for one in handling(facts.limits)] == [(words, PAGE_4)]


def test_agitation_stands_in_the_order_of_filling() -> None:
    rows = says(LimitFact.AGITATION, REQUIRED, sentence="Agitate before each use.").limits
    steps = agitation_steps(rows)
    assert steps == (f"Agitation: Agitate before each use. ({PAGE_4})",)
    assert with_agitation(("Fill.",), steps) == ("Fill.", *steps)
    assert with_agitation((), steps) == ()  # nothing is filled


# a fifth of a surface: common practice, no federal text was found; the row is the label's
FIFTH = says(LimitFact.SURFACE_SHARE, AT_MOST, "20")
WHOLE = Amount(d("1000"), "ft2")


@pytest.mark.parametrize(
    ("treated", "before", "is_over", "severity"),
    [
        ("200", "0", True, NOTE),  # equal passes
        ("200.0001", "0", True, REFUSE),
        ("1000", "0", False, WARN),  # a whole zone is planned; how much gets product is not known
        ("150", "50", True, NOTE),
        ("150", "51", True, WARN),  # beside each other, or one on the other: nobody wrote it down
        ("201", "50", True, REFUSE),
    ],
)
def test_a_part_of_a_surface(treated: str, before: str, is_over: bool, severity: Severity) -> None:
    earlier = Amount(d(before), "ft2")
    use = in_zone(area=Amount(d(treated), "ft2"), whole=WHOLE, treated_before=earlier)
    found = only("surface_share", FIFTH, replace(use, is_over=is_over))
    assert (found.severity, found.clause) == (severity, PAGE_4)
    assert "Zone A" in found.sentence
    if severity != NOTE and before == "0":
        assert "200.00 sq ft" in found.to_do or "200 sq ft" in found.to_do


def test_a_surface_that_is_not_measured_asks() -> None:
    assert only("surface_share", FIFTH, USE).severity == WARN


@given(
    st.decimals(d("0.1"), d("5000"), places=1),
    st.decimals(d("1"), d("5000"), places=1),
    st.integers(1, 100),
)
def test_the_part_refuses_exactly_above_its_percent(
    treated: Decimal, whole: Decimal, percent: int
) -> None:
    facts = says(LimitFact.SURFACE_SHARE, AT_MOST, str(percent))
    use = in_zone(area=Amount(treated, "ft2"), whole=Amount(whole, "ft2"))
    found = only("surface_share", facts, replace(use, is_over=True))
    assert (found.severity == REFUSE) == (treated / whole > Decimal(percent) / 100)


VACANT = says(LimitFact.VACANT_ONLY, REQUIRED, sentence="Only in unoccupied dwellings.")


@pytest.mark.parametrize(
    ("units", "answer", "severity"),
    [
        ((), "", WARN),  # nothing is entered: ask
        ((), "yes", NOTE),
        ((), "no", REFUSE),
        ((False, False), "", NOTE),  # every unit is entered as vacant
        ((False, False), "no", REFUSE),  # who stands there sees it
        ((True, False), "", WARN),  # which unit is treated is not known: ask
        ((True, False), "yes", NOTE),
        ((True, True), "yes", REFUSE),  # what is entered is a fact until it is changed
        ((True,), "", REFUSE),
    ],
)
def test_vacant_only(units: tuple[bool, ...], answer: str, severity: Severity) -> None:
    answers = {"vacant_only": answer} if answer else {}
    found = only("vacant_only", VACANT, replace(USE, units_occupied=units, answers=answers))
    assert (found.severity, found.clause) == (severity, PAGE_4)


@pytest.mark.parametrize("fact", [LimitFact.SCHOOL, LimitFact.SCHOOL_HOURS])
@pytest.mark.parametrize(
    ("is_school", "answer", "severity"),
    [
        (False, "", WARN),
        (True, "", REFUSE),  # the customer has a school IPM coordinator
        (True, "yes", NOTE),  # another property of the same customer, or its hours are over
        (True, "no", REFUSE),
    ],
)
def test_schools(fact: LimitFact, is_school: bool, answer: str, severity: Severity) -> None:
    facts = says(fact, FORBIDDEN if fact == LimitFact.SCHOOL else REQUIRED)
    answers = {str(fact): answer} if answer else {}
    assert (
        only(fact, facts, replace(USE, is_school=is_school, answers=answers)).severity == severity
    )


@pytest.mark.parametrize(
    ("fact", "kind", "answer", "severity"),
    [
        # what is entered at the property outweighs an answer
        (LimitFact.SCHOOL, "school", "yes", REFUSE),
        (LimitFact.SCHOOL, "day_care", "", REFUSE),
        (LimitFact.SCHOOL, "food_plant", "", NOTE),
        (LimitFact.SCHOOL, "", "", WARN),
        # nobody knows its hours but who is there
        (LimitFact.SCHOOL_HOURS, "school", "", REFUSE),
        (LimitFact.SCHOOL_HOURS, "school", "yes", NOTE),
        (LimitFact.SCHOOL_HOURS, "school", "no", REFUSE),
        (LimitFact.SCHOOL_HOURS, "home", "", NOTE),
    ],
)
def test_the_kind_of_site_answers(
    fact: LimitFact, kind: str, answer: str, severity: Severity
) -> None:
    facts = says(fact, FORBIDDEN if fact == LimitFact.SCHOOL else REQUIRED)
    use = replace(USE, site_kind=kind, answers={str(fact): answer} if answer else {})
    assert only(fact, facts, use).severity == severity


@pytest.mark.parametrize(
    ("code", "kind", "is_asked"),
    [
        ("school", "", True),
        ("school", "school", False),
        ("school", "office", False),
        ("school_hours", "school", True),
        ("school_hours", "office", False),
        ("vacant_only", "office", True),
    ],
)
def test_nobody_is_asked_what_is_entered(code: str, kind: str, is_asked: bool) -> None:
    assert is_settled(code, kind) != is_asked


def half(**changes: object) -> ProposedUse:
    """0.4 fl oz in 0.5 gal on 1,080 sq ft; the least is 0.5 fl oz and 1 gal per 1,000 sq ft."""
    use = replace(USE, product=Amount(d("0.4"), "fl_oz"), finished=Amount(d("0.5"), "gal"))
    return replace(use, **changes)


@pytest.mark.parametrize(("follows", "severity"), [(False, WARN), (True, NOTE)])
def test_the_first_of_two_loads_is_judged_with_the_second(
    follows: bool, severity: Severity
) -> None:
    use = half(more_follows=follows)
    assert {only(code, LABEL, use).severity for code in ("rate", "volume")} == {severity}


def test_a_first_load_above_the_most_is_refused_whatever_follows() -> None:
    use = half(more_follows=True, product=Amount(d("1.09"), "fl_oz"))
    assert only("rate", LABEL, use).severity == REFUSE
