"""What a visit and a renewal can become next: one table each, drawn for the developers."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import TypeVar

from accounts.refusals import Refused


class VisitState(StrEnum):
    """Where a visit stands (DEVELOPERS.md, "How a visit ends")."""

    BOOKED = "booked"
    STARTED = "started"
    FINISHING = "finishing"
    DONE = "done"
    PART_DONE = "part_done"
    NOT_DONE = "not_done"
    CANCELED = "canceled"


class RenewalState(StrEnum):
    """Where a renewal stands; lapse is a date, not a state (DEVELOPERS.md, Decisions)."""

    DUE = "due"
    OFFERED = "offered"
    BOOKED = "booked"
    DONE = "done"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"


class Work(StrEnum):
    """What a renewal asks for."""

    TREAT = "treat"
    LOOK = "look"  # no use of the product is left: look first, then another way or product
    INSPECT = "inspect"  # the season withdrew the treatment


class VisitKind(StrEnum):
    """Why somebody comes."""

    FIRST_SERVICE = "first_service"
    RENEWAL = "renewal"
    CALL_BACK = "call_back"
    INSPECTION = "inspection"
    EXCLUSION = "exclusion"
    MONITORING = "monitoring"


VISIT_STATE_WORDS: Mapping[StrEnum, str] = {
    VisitState.BOOKED: "Booked",
    VisitState.STARTED: "Started",
    VisitState.FINISHING: "Finishing, records missing",
    VisitState.DONE: "Done",
    VisitState.PART_DONE: "Part done",
    VisitState.NOT_DONE: "Not done",
    VisitState.CANCELED: "Canceled",
}
RENEWAL_STATE_WORDS: Mapping[StrEnum, str] = {
    RenewalState.DUE: "Due",
    RenewalState.OFFERED: "Offered",
    RenewalState.BOOKED: "Booked",
    RenewalState.DONE: "Done",
    RenewalState.DECLINED: "Declined",
    RenewalState.WITHDRAWN: "Withdrawn",
}
WORK_WORDS: Mapping[StrEnum, str] = {
    Work.TREAT: "Treat",
    Work.LOOK: "Inspect first",
    Work.INSPECT: "Inspect and seal",
}
VISIT_KIND_WORDS: Mapping[StrEnum, str] = {
    VisitKind.FIRST_SERVICE: "First service",
    VisitKind.RENEWAL: "Renewal",
    VisitKind.CALL_BACK: "Re-service",
    VisitKind.INSPECTION: "Inspection",
    VisitKind.EXCLUSION: "Exclusion",
    VisitKind.MONITORING: "Monitoring",
}

# A visit is finished in one submission when all its records are here, else it waits as
# finishing. A finish without a start happens offline: the start may arrive late.
TRANSITIONS: Mapping[VisitState, frozenset[VisitState]] = {
    VisitState.BOOKED: frozenset(
        {
            VisitState.STARTED,
            VisitState.FINISHING,
            VisitState.DONE,
            VisitState.PART_DONE,
            VisitState.NOT_DONE,
            VisitState.CANCELED,
        }
    ),
    VisitState.STARTED: frozenset(
        {VisitState.FINISHING, VisitState.DONE, VisitState.PART_DONE, VisitState.NOT_DONE}
    ),
    VisitState.FINISHING: frozenset({VisitState.DONE, VisitState.PART_DONE, VisitState.NOT_DONE}),
    VisitState.DONE: frozenset(),
    VisitState.PART_DONE: frozenset(),
    VisitState.NOT_DONE: frozenset(),
    VisitState.CANCELED: frozenset(),
}
# A booked renewal goes back to due when its visit is canceled or ends without all its zones.
RENEWAL_TRANSITIONS: Mapping[RenewalState, frozenset[RenewalState]] = {
    RenewalState.DUE: frozenset(
        {
            RenewalState.OFFERED,
            RenewalState.BOOKED,
            RenewalState.DONE,
            RenewalState.DECLINED,
            RenewalState.WITHDRAWN,
        }
    ),
    RenewalState.OFFERED: frozenset(
        {
            RenewalState.DUE,
            RenewalState.BOOKED,
            RenewalState.DONE,
            RenewalState.DECLINED,
            RenewalState.WITHDRAWN,
        }
    ),
    RenewalState.BOOKED: frozenset(
        {RenewalState.DUE, RenewalState.DONE, RenewalState.DECLINED, RenewalState.WITHDRAWN}
    ),
    RenewalState.DONE: frozenset(),
    RenewalState.DECLINED: frozenset({RenewalState.DUE}),
    RenewalState.WITHDRAWN: frozenset(),
}

State = TypeVar("State", VisitState, RenewalState)


def check_transition(old: VisitState, new: VisitState) -> None:
    """Refuse a change of a visit that the table does not hold; staying the same is no change."""
    if new not in TRANSITIONS[old]:
        was, asked = VISIT_STATE_WORDS[old].lower(), VISIT_STATE_WORDS[new].lower()
        raise Refused(
            "visit_state",
            f"This visit is {was} and cannot become {asked}. Reload the page to see what is open.",
            old=old,
            new=new,
        )


def check_renewal_transition(old: RenewalState, new: RenewalState) -> None:
    """Refuse a change of a renewal that the table does not hold."""
    if new not in RENEWAL_TRANSITIONS[old]:
        was, asked = RENEWAL_STATE_WORDS[old].lower(), RENEWAL_STATE_WORDS[new].lower()
        raise Refused(
            "renewal_state",
            f"This renewal is {was} and cannot become {asked}. Reload the page to see it.",
            old=old,
            new=new,
        )


def visit_diagram() -> str:
    """The visit table as a mermaid state diagram, for the developers' guide."""
    return _diagram(VisitState.BOOKED, TRANSITIONS)


def renewal_diagram() -> str:
    """The renewal table as a mermaid state diagram, for the developers' guide."""
    return _diagram(RenewalState.DUE, RENEWAL_TRANSITIONS)


def _diagram(first: State, table: Mapping[State, frozenset[State]]) -> str:
    lines = ["stateDiagram-v2", f"    [*] --> {first}"]
    for old, nexts in table.items():
        lines += [f"    {old} --> {new}" for new in sorted(nexts)]
        if not nexts:
            lines.append(f"    {old} --> [*]")
    return "\n".join(lines) + "\n"
