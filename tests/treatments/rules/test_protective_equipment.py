"""What to wear by task, and who may wear a respirator."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from accounts.rules.respirators import Papers, RespiratorKind
from sites.rules.places import Place
from tests.treatments.rules.label_cases import DAY, LABEL, USE, judged, only
from treatments.rules.label_checks import Judgement, allowed, check
from treatments.rules.label_checks.facts import LONGEST_CLAUSE, cited
from treatments.rules.label_entry import NewProtection
from treatments.rules.label_refusals import refuse_protection
from treatments.rules.products import Formulation, Method, Severity, Task
from treatments.rules.protective_equipment import (
    ProtectionRow,
    is_respirator,
    respirators_in,
    tasks_of,
    worn,
)

M, A, H, C, D, U = Task  # mix, apply, overhead, confined, dust, clean up
ROWS = (
    ProtectionRow(U, "Chemical-resistant gloves", "p. 3"),
    ProtectionRow(M, "Chemical-resistant  Gloves", "p. 2"),
    ProtectionRow(A, "Long sleeves", "p. 2"),
    ProtectionRow(H, "Eye protection", "p. 2"),
    ProtectionRow(C, "Half-face respirator, organic vapor cartridge", "p. 4", ("half_vapor",)),
)
HELD = Papers("Half-face", DAY, DAY, DAY, RespiratorKind.HALF_VAPOR)


@pytest.mark.parametrize(
    ("is_mixed", "places", "method", "formulation", "tasks"),
    [
        # Mix and load, apply, overhead, unventilated or confined, dust, clean up
        (True, {Place.FOUNDATION_WALL}, Method.PERIMETER_BAND, Formulation.SC, [M, A, U]),
        (True, {Place.EAVE_SOFFIT}, Method.SPOT, Formulation.SC, [M, A, H, U]),
        (True, {Place.ATTIC, Place.EAVE_SOFFIT}, Method.SPOT, Formulation.SC, [M, A, H, C, U]),
        (False, {Place.CRAWL_SPACE}, Method.DUST, Formulation.DUST, [A, C, D, U]),
        (False, {Place.ATTIC}, Method.VOID, Formulation.DUST, [A, C, D, U]),
        # air handling is off while a space is filled (common practice, no source)
        (False, {Place.OPEN_SPACE}, Method.SPACE, Formulation.AEROSOL, [A, C]),
        (True, {Place.OPEN_SPACE}, Method.SPACE, Formulation.EC, [M, A, C, U]),
        (False, {Place.VOID}, Method.VOID, Formulation.DUST, [A, D, U]),  # nobody is inside
        (True, {Place.CRACK_CREVICE}, Method.CRACK_CREVICE, Formulation.WP, [M, A, U]),
        (False, {Place.SOIL_BAND}, Method.GRANULE, Formulation.GRANULE, [A, U]),  # a spreader
        (False, {Place.CRACK_CREVICE}, Method.BAIT, Formulation.GEL, [A]),
        (False, {Place.CRACK_CREVICE}, Method.CRACK_CREVICE, Formulation.AEROSOL, [A]),
        (True, {Place.CRACK_CREVICE}, Method.BAIT, Formulation.BAIT, [M, A, U]),  # mixed after all
    ],
)
def test_the_tasks_of_a_job(
    is_mixed: bool,
    places: set[Place],
    method: Method,
    formulation: Formulation,
    tasks: list[Task],
) -> None:
    found = tasks_of(is_mixed=is_mixed, places=places, method=method, formulation=formulation)
    assert list(found) == tasks


def test_the_union_says_an_item_once_with_every_task_and_page() -> None:
    gloves, sleeves = worn(ROWS, (M, A, U))
    assert (gloves.task_words, gloves.page_words) == ("Mix and load, clean up", "p. 2, p. 3")
    assert (sleeves.item, sleeves.task_words) == ("Long sleeves", "Apply")


@given(st.sets(st.sampled_from(Task)), st.sets(st.sampled_from(Task)))
def test_more_tasks_never_ask_for_less(some: set[Task], more: set[Task]) -> None:
    def items(tasks: set[Task]) -> set[str]:
        return {one.item.casefold() for one in worn(ROWS, tasks)}

    assert items(some) <= items(some | more)
    assert worn(ROWS, set()) == ()


@pytest.mark.parametrize(
    ("item", "is_one"),
    [
        ("Half-face Respirator with organic vapor cartridge", True),
        ("N95 filtering facepiece", True),
        ("N-95 mask", True),
        ("Self-contained breathing apparatus", True),
        ("Chemical-resistant gloves", False),
        ("Eye protection", False),
        # a row that says that none is needed is not one; with a condition beside it, it is
        ("No respirator is required.", False),
        ("No respirator required", False),
        ("A respirator is not required", False),
        ("Respirator: none", False),
        ("Respiratory protection: not required", False),
        ("Does not require a respirator", False),
        ("No respirator is required unless mixing indoors", True),
        ("No respirator other than SCBA", True),
        ("No entry without a respirator", True),
        ("Respirators are not required outdoors", True),
        ("P100 filters", True),
        ("PAPR", True),
    ],
)
def test_what_is_a_respirator(item: str, is_one: bool) -> None:
    assert is_respirator(item) is is_one


def test_without_papers_the_use_is_refused_for_that_person() -> None:
    """Medical clearance, fit test and cartridge date in force, else refuse."""
    label = replace(LABEL, protections=ROWS)
    use = replace(USE, tasks=(M, A, C))
    found = only("respirator", label, use)
    assert found.severity == Severity.REFUSE
    assert "no medical clearance, fit test and cartridge date are on file" in found.sentence
    assert found.clause == "Label 99999-101 demo, p. 4"
    assert not allowed(check(label, use, before_mixing=True))
    ended = replace(HELD, fit_test_until=date(2026, 1, 1))
    assert (
        "the fit test ran out"
        in only("respirator", label, replace(use, respirators=(ended,))).whole
    )
    held = only("respirator", label, replace(use, respirators=(HELD,)))
    assert (held.severity, held.to_do) == (Severity.NOTE, "")


def test_afterwards_it_is_a_violation() -> None:
    label, use = replace(LABEL, protections=ROWS), replace(USE, tasks=(C,))
    found = [one for one in check(label, use, before_mixing=False) if one.code == "respirator"]
    assert [one.severity for one in found] == [Severity.VIOLATION]


def test_another_task_asks_for_no_papers() -> None:
    assert judged("respirator", replace(LABEL, protections=ROWS), replace(USE, tasks=(M, A))) == []


def with_row(item: str, *papers: Papers) -> Judgement:
    label = replace(LABEL, protections=(ProtectionRow(A, item, "p. 4", respirators_in(item)),))
    return only("respirator", label, replace(USE, tasks=(A,), respirators=papers))


def test_papers_of_another_kind_do_not_count() -> None:
    found = with_row("N95 filtering facepiece", HELD)
    assert found.severity == Severity.REFUSE
    assert "no fit test is on file for filtering facepiece" in found.sentence


def test_a_row_whose_kind_is_not_known_warns_with_any_papers() -> None:
    found = with_row("NIOSH-approved respirator", HELD)
    assert found.severity == Severity.WARN
    assert "Half-face with organic-vapor cartridges" in found.sentence
    assert with_row("NIOSH-approved respirator").severity == Severity.REFUSE


def test_no_respirator_asks_for_no_papers() -> None:
    label = replace(LABEL, protections=(ProtectionRow(A, "No respirator is required.", "p. 4"),))
    assert judged("respirator", label, replace(USE, tasks=(A,))) == []


def test_the_kind_that_was_chosen_counts_not_the_words() -> None:
    """The words stand beside a typed choice: nobody is let off, or held up, by a spelling."""
    row = ProtectionRow(A, "Mask as on the data sheet", "p. 4", ("half_vapor",))
    label, use = replace(LABEL, protections=(row,)), replace(USE, tasks=(A,))
    assert only("respirator", label, use).severity == Severity.REFUSE
    held = replace(use, respirators=(HELD,))
    assert only("respirator", label, held).severity == Severity.NOTE
    words_alone = replace(label, protections=(replace(row, respirators=()),))
    assert judged("respirator", words_alone, use) == []


@pytest.mark.parametrize(
    ("item", "chosen", "says"),
    [
        ("Half-face respirator, OV cartridge", (), "Half-face with organic-vapor cartridges"),
        ("NIOSH-approved respirator", (), "whose kind the label does not name"),
        ("Half-face respirator", ("helmet",), "There is no kind of respirator 'helmet'"),
        ("Half-face respirator", ("not_named", "half_vapor"), "A kind is named, and not named"),
    ],
)
def test_a_row_of_a_respirator_says_its_kind(item: str, chosen: tuple[str, ...], says: str) -> None:
    with pytest.raises(Refused, match=says) as refused:
        refuse_protection(NewProtection("apply", item, "p. 2", chosen))
    assert refused.value.facts["field"] == "respirators"


@pytest.mark.parametrize(
    ("item", "chosen"),
    [("Gloves", ()), ("No respirator is required.", ()), ("Air-line mask", ("supplied_air",))],
)
def test_what_is_a_whole_row(item: str, chosen: tuple[str, ...]) -> None:
    refuse_protection(NewProtection("apply", item, "p. 2", chosen))


@given(st.lists(st.text(min_size=1, max_size=20), max_size=60))
def test_a_clause_holds_as_many_pages_as_fit(pages: list[str]) -> None:
    clause = cited("Label 99999-101 demo", pages)
    assert len(clause) <= LONGEST_CLAUSE
    whole = ", ".join(("Label 99999-101 demo", *pages))
    assert clause == whole or re.search(r" and \d+ more pages$", clause)
