"""Which questions a use must ask, and what the answers mean.

Space, attic, void and dust: common practice, no source. Label rows: invented (99999-101 demo).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest

from accounts.refusals import Refused
from sites.rules.places import PestGroup, Place
from sites.rules.units import Amount
from tests.treatments.rules.label_cases import LABEL, USE, ZONE, d, in_zone, judged, with_limit
from treatments.rules.label_checks import LabelFacts, LabelLimit, allowed, check
from treatments.rules.label_checks.safety import asked
from treatments.rules.label_questions import OF_LABEL, of_label
from treatments.rules.products import Comparison, Formulation, LimitFact, Method, Severity
from treatments.rules.questions import Question
from treatments.rules.safety_questions import (
    DUST,
    ENCLOSED,
    KNOWN_AFTERWARDS,
    answer_of,
    for_second,
    questions,
    refuse_answers,
)

SPACE_WORK = {one.code for one in ENCLOSED} | {"space_volume"} | KNOWN_AFTERWARDS
DUST_WORK = SPACE_WORK | {one.code for one in DUST}
INSIDE = replace(
    LABEL,
    places=frozenset({Place.ATTIC, Place.VOID}),
    methods=frozenset(Method),
    prohibited_methods=frozenset(),
    pest_groups=frozenset(PestGroup),
)
ATTIC = replace(in_zone(place=Place.ATTIC), method=Method.SPOT, pests={"Ant": PestGroup.ANTS})


@pytest.mark.parametrize(
    ("method", "place", "formulation", "codes"),
    [
        (Method.SPACE, Place.OPEN_SPACE, Formulation.AEROSOL, SPACE_WORK),  # space
        (Method.SPOT, Place.ATTIC, Formulation.SC, SPACE_WORK),  # attic
        (Method.SPOT, Place.CRAWL_SPACE, Formulation.SC, SPACE_WORK),  # as closed as an attic
        (Method.VOID, Place.INTERIOR_SPOT, Formulation.FOAM, SPACE_WORK),  # void
        (Method.FOAM, Place.VOID, Formulation.FOAM, SPACE_WORK),
        (Method.DUST, Place.CRACK_CREVICE, Formulation.DUST, DUST_WORK),  # dust
        (Method.CRACK_CREVICE, Place.CRACK_CREVICE, Formulation.DUST, DUST_WORK),
        (Method.BAIT, Place.ATTIC, Formulation.BAIT, set()),  # nothing gets into the air
        (Method.PERIMETER_BAND, Place.FOUNDATION_WALL, Formulation.SC, set()),
        (Method.SPOT, Place.INTERIOR_SPOT, None, set()),
    ],
)
def test_what_is_asked_by_method_place_and_formulation(
    method: Method, place: Place, formulation: Formulation | None, codes: set[str]
) -> None:
    found = questions(method=method, places=[place], formulation=formulation)
    assert {one.code for one in found} == codes


def test_a_measured_space_under_a_limit_is_not_asked_again() -> None:
    facts = replace(INSIDE, limits=with_limit(LimitFact.SPACE_MAX, Comparison.AT_MOST, "6").limits)
    assert len(judged("space_volume", facts, ATTIC)) == 1
    assert judged("space_volume", facts, replace(ATTIC, space=Amount(d("5"), "ft3"))) == []


@pytest.mark.parametrize("code", sorted(DUST_WORK - KNOWN_AFTERWARDS))
@pytest.mark.parametrize(
    ("answer", "before", "afterwards"),
    [
        ("", Severity.WARN, Severity.WARN),
        ("yes", Severity.NOTE, Severity.NOTE),
        ("no", Severity.REFUSE, Severity.VIOLATION),
    ],
)
def test_every_question_of_the_work(
    code: str, answer: str, before: Severity, afterwards: Severity
) -> None:
    dust = replace(ATTIC, method=Method.DUST, answers={code: answer})
    for is_before, severity in ((True, before), (False, afterwards)):
        answers = check(INSIDE, dust, before_mixing=is_before)
        (found,) = [one for one in answers if one.code == code]
        assert found.severity == severity
        assert bool(found.to_do) == (severity != Severity.NOTE)


def test_times_and_names_are_asked_only_when_the_work_is_done() -> None:
    before = {one.code for one in check(INSIDE, ATTIC, before_mixing=True)}
    assert not before & KNOWN_AFTERWARDS
    done = replace(ATTIC, answers={"cleared_by": "Pat Example, 4 PM"})
    after = {one.code: one for one in check(INSIDE, done, before_mixing=False)}
    assert after["aired_from_to"].severity == Severity.WARN
    assert after["cleared_by"].severity == Severity.NOTE
    # a name never stands in a judgement: judgements are in the log for good
    assert "Pat" not in after["cleared_by"].whole


@pytest.mark.parametrize("fact", list(OF_LABEL))
def test_every_row_that_a_person_answers_for(fact: LimitFact) -> None:
    """Each with its page; a "no" does what the row says, never an answer passes by itself."""
    facts = with_limit(fact, Comparison.AT_LEAST, "30", Severity.REFUSE)
    use = replace(USE, is_high_rate=True)
    (question,) = of_label_of(facts)
    assert (question.clause, question.may_not_apply) == ("Label 99999-101 demo, page 4", False)
    for answer, severity in (("", "warn"), ("yes", "note"), ("no", "refuse")):
        (found,) = judged(question.code, facts, replace(use, answers={question.code: answer}))
        assert found.severity == severity
    assert not any("not judged here" in one.sentence for one in judged(str(fact), facts, USE))


def of_label_of(facts: LabelFacts) -> tuple[Question, ...]:
    return asked(facts, USE.method, {ZONE.place}, None, is_high_rate=True)


def test_a_row_that_only_warns_warns_on_a_no() -> None:
    facts = with_limit(LimitFact.BEES_FORAGING, Comparison.FORBIDDEN, "0", Severity.WARN)
    use = replace(USE, answers={"bees_foraging": "no"})
    (found,) = judged("bees_foraging", facts, use)
    assert found.severity == Severity.WARN
    assert allowed(check(facts, use, before_mixing=True))


def test_of_two_rows_about_one_thing_the_stricter_is_asked_whatever_their_order() -> None:
    rows = [
        LabelLimit(LimitFact.HIVE_DISTANCE, Comparison.AT_LEAST, d("10"), Severity.REFUSE),
        LabelLimit(LimitFact.HIVE_DISTANCE, Comparison.AT_LEAST, d("25"), Severity.WARN),
        LabelLimit(LimitFact.PLACEMENT_SPACING, Comparison.AT_LEAST, d("15"), Severity.REFUSE),
        LabelLimit(LimitFact.PLACEMENT_SPACING, Comparison.AT_MOST, d("30"), Severity.REFUSE),
        LabelLimit(LimitFact.CHECK_DAYS, Comparison.AT_MOST, d("14"), Severity.REFUSE),
        LabelLimit(LimitFact.CHECK_DAYS, Comparison.AT_MOST, d("7"), Severity.REFUSE),
    ]
    for some in permutations(rows):
        found = {one.code: one for one in of_label_of(replace(LABEL, limits=some))}
        assert found["hive_distance"].words == "Is every hive at least 25 ft away?"
        assert found["hive_distance"].severity == Severity.REFUSE
        assert found["check_days"].words == "Is the next check booked within 7 days?"
        spacing = {found[f"placement_spacing_{end}"].words for end in ("at_least", "at_most")}
        assert spacing == {
            "Are the placements at least 15 ft apart?",
            "Are the placements at most 30 ft apart?",
        }


@pytest.mark.parametrize(
    ("pest", "method", "place", "fogging", "wall_void"),
    [
        (PestGroup.OVERWINTERING, Method.SPACE, Place.ATTIC, ["refuse"], []),
        (PestGroup.OVERWINTERING, Method.SPACE, Place.OPEN_SPACE, ["refuse"], []),
        (PestGroup.FLIES, Method.SPACE, Place.ATTIC, [], []),
        (PestGroup.OVERWINTERING, Method.VOID, Place.INTERIOR_SPOT, [], ["warn"]),
        (PestGroup.OVERWINTERING, Method.DUST, Place.VOID, [], ["warn"]),
        (PestGroup.OVERWINTERING, Method.PERIMETER_BAND, Place.FOUNDATION_WALL, [], []),
        (PestGroup.ANTS, Method.VOID, Place.VOID, [], []),
    ],
)
def test_insects_that_overwinter(
    pest: PestGroup, method: Method, place: Place, fogging: list[str], wall_void: list[str]
) -> None:
    """reference/trade.md 4.5: a field-guide study set on wall voids, EPA on indoor foggers."""
    use = replace(in_zone(place=place), method=method, pests={"Invented pest": pest})
    assert [one.severity for one in judged("fogging", INSIDE, use)] == fogging
    assert [one.severity for one in judged("wall_void", INSIDE, use)] == wall_void


@pytest.mark.parametrize(
    "answers",
    [[("a", "yes"), ("a", "no")], [(str(n), "yes") for n in range(61)]],
)
def test_answers_that_nobody_gives_are_refused(answers: list[tuple[str, str]]) -> None:
    with pytest.raises(Refused):
        refuse_answers(answers)


def test_an_answer_is_one_of_the_choices() -> None:
    people, aquaria = ENCLOSED[:2]
    assert answer_of(aquaria, "not_applicable") == "not_applicable"
    assert answer_of(people, " ") == ""
    for answer in ("not_applicable", "perhaps"):
        with pytest.raises(Refused, match="Are people and pets out"):
            answer_of(people, answer)
    assert of_label([]) == ()


def test_an_answer_to_one_label_answers_no_other() -> None:
    """House rule: the work is answered once for both products of a tank, a label's rows never."""
    first = (("people_out", "yes"), ("hive_distance", "yes"), ("placement_weight_at_most", "yes"))
    own = (("hive_distance", "no"), ("people_out", "no"), ("space_volume", "yes"))
    assert for_second((*first, ("space_volume", "no")), own) == (
        ("people_out", "yes"),
        ("hive_distance", "no"),
        ("space_volume", "yes"),
    )
    assert for_second(first, ()) == (("people_out", "yes"),)
