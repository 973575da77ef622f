"""The state tables, and the pictures drawn from them."""

from __future__ import annotations

import pytest

from accounts.refusals import Refused
from scheduling.rules.visit_states import (
    RENEWAL_STATE_WORDS,
    RENEWAL_TRANSITIONS,
    TRANSITIONS,
    VISIT_KIND_WORDS,
    VISIT_STATE_WORDS,
    RenewalState,
    VisitKind,
    VisitState,
    check_renewal_transition,
    check_transition,
    renewal_diagram,
    visit_diagram,
)

ENDINGS = {VisitState.DONE, VisitState.PART_DONE, VisitState.NOT_DONE}
OPEN = {VisitState.BOOKED, VisitState.STARTED, VisitState.FINISHING}


def test_every_state_has_a_row_and_a_word() -> None:
    assert set(TRANSITIONS) == set(VisitState) == set(VISIT_STATE_WORDS)
    assert set(RENEWAL_TRANSITIONS) == set(RenewalState) == set(RENEWAL_STATE_WORDS)
    assert set(VISIT_KIND_WORDS) == set(VisitKind)
    assert VISIT_KIND_WORDS[VisitKind.CALL_BACK] == "Re-service"


@pytest.mark.parametrize("old", VisitState)
def test_an_open_visit_can_end_and_an_ended_one_stays(old: VisitState) -> None:
    assert (TRANSITIONS[old] >= ENDINGS) == (old in OPEN)
    assert bool(TRANSITIONS[old]) == (old in OPEN)


def test_only_a_booked_visit_is_canceled() -> None:
    canceled = {old for old, nexts in TRANSITIONS.items() if VisitState.CANCELED in nexts}
    assert canceled == {VisitState.BOOKED}


@pytest.mark.parametrize("old", VisitState)
@pytest.mark.parametrize("new", VisitState)
def test_what_the_table_does_not_hold_is_refused(old: VisitState, new: VisitState) -> None:
    if new in TRANSITIONS[old]:
        check_transition(old, new)
        return
    with pytest.raises(Refused) as refused:
        check_transition(old, new)
    assert refused.value.code == "visit_state"
    assert VISIT_STATE_WORDS[new].lower() in refused.value.sentence


def test_a_done_renewal_stays_and_a_declined_one_may_come_back() -> None:
    check_renewal_transition(RenewalState.DECLINED, RenewalState.DUE)
    check_renewal_transition(RenewalState.BOOKED, RenewalState.DUE)
    for new in RenewalState:
        with pytest.raises(Refused, match="This renewal is done and cannot become"):
            check_renewal_transition(RenewalState.DONE, new)


def test_the_pictures_hold_every_arrow_of_the_tables() -> None:
    for picture, table in (
        (visit_diagram(), TRANSITIONS),
        (renewal_diagram(), RENEWAL_TRANSITIONS),
    ):
        lines = {line.strip() for line in picture.splitlines()}
        arrows = {f"{old} --> {new}" for old, nexts in table.items() for new in nexts}
        ends = {f"{old} --> [*]" for old, nexts in table.items() if not nexts}
        assert lines - {"stateDiagram-v2"} == arrows | ends | {f"[*] --> {next(iter(table))}"}
