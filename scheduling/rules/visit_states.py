"""The states of a visit and of a renewal: one table each, used by buttons, posts and the diagram."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from accounts.refusals import Refused


class VisitState(StrEnum):
    """Where a visit stands."""

    BOOKED = "booked"
    STARTED = "started"
    FINISHING = "finishing"
    DONE = "done"
    PART_DONE = "part_done"
    NOT_DONE = "not_done"
    CANCELED = "canceled"


class RenewalState(StrEnum):
    """Where a renewal stands; a lapse is a date, not a state."""

    DUE = "due"
    OFFERED = "offered"
    BOOKED = "booked"
    DONE = "done"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"


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
    VisitState.FINISHING: "Finishing",
    VisitState.DONE: "Done",
    VisitState.PART_DONE: "Part done",
    VisitState.NOT_DONE: "Not done",
    VisitState.CANCELED: "Canceled",
}
RENEWAL_STATE_WORDS: Mapping[StrEnum, str] = {
    RenewalState.DUE: "Service due",
    RenewalState.OFFERED: "Offered",
    RenewalState.BOOKED: "Booked",
    RenewalState.DONE: "Done",
    RenewalState.DECLINED: "Declined",
    RenewalState.WITHDRAWN: "Withdrawn",
}
VISIT_KIND_WORDS: Mapping[StrEnum, str] = {
    VisitKind.FIRST_SERVICE: "First service",
    VisitKind.RENEWAL: "Renewal",
    VisitKind.CALL_BACK: "Re-service",
    VisitKind.INSPECTION: "Inspection",
    VisitKind.EXCLUSION: "Exclusion",
    VisitKind.MONITORING: "Monitoring",
}

VISIT_TRANSITIONS: Mapping[VisitState, frozenset[VisitState]] = {
    VisitState.BOOKED: frozenset(
        {VisitState.STARTED, VisitState.NOT_DONE, VisitState.CANCELED}
    ),
    VisitState.STARTED: frozenset(
        {
            VisitState.FINISHING,
            VisitState.DONE,
            VisitState.PART_DONE,
            VisitState.NOT_DONE,
        }
    ),
    VisitState.FINISHING: frozenset({VisitState.DONE, VisitState.PART_DONE}),
}
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
        {RenewalState.DUE, RenewalState.DONE, RenewalState.WITHDRAWN}
    ),
    RenewalState.DECLINED: frozenset({RenewalState.DUE}),
}


def check_transition(old: VisitState, new: VisitState) -> None:
    """Refuse a step that is not in the table of visit states."""
    if new not in VISIT_TRANSITIONS.get(old, frozenset()):
        raise Refused(
            "visit_state",
            f"This visit is {VISIT_STATE_WORDS[old].lower()} and cannot become "
            f"{VISIT_STATE_WORDS[new].lower()}. Open it again to see where it stands.",
        )


def diagram() -> str:
    """Return the table of visit states as a Mermaid state diagram, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    [*] --> booked"]
    for old in VisitState:
        following = sorted(VISIT_TRANSITIONS.get(old, ()))
        lines += [f"    {old} --> {new}" for new in following]
        if not following:
            lines.append(f"    {old} --> [*]")
    return "\n".join(lines)
