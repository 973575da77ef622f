"""What an agreement can become next: one table, drawn for the developers."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from accounts.refusals import Refused


class AgreementState(StrEnum):
    """Where an agreement stands."""

    DRAFT = "draft"
    OFFERED = "offered"
    ACTIVE = "active"
    PAUSED = "paused"
    ENDED = "ended"


AGREEMENT_STATE_WORDS: Mapping[StrEnum, str] = {
    AgreementState.DRAFT: "Draft",
    AgreementState.OFFERED: "Offered",
    AgreementState.ACTIVE: "Active",
    AgreementState.PAUSED: "Paused",
    AgreementState.ENDED: "Ended",
}
# An offer is taken back into a draft to change its terms; its paper is kept, the next is another.
AGREEMENT_TRANSITIONS: Mapping[AgreementState, frozenset[AgreementState]] = {
    AgreementState.DRAFT: frozenset({AgreementState.OFFERED, AgreementState.ENDED}),
    AgreementState.OFFERED: frozenset(
        {AgreementState.DRAFT, AgreementState.ACTIVE, AgreementState.ENDED}
    ),
    AgreementState.ACTIVE: frozenset({AgreementState.PAUSED, AgreementState.ENDED}),
    AgreementState.PAUSED: frozenset({AgreementState.ACTIVE, AgreementState.ENDED}),
    AgreementState.ENDED: frozenset(),
}


def check_agreement_transition(old: AgreementState, new: AgreementState) -> None:
    """Refuse a change of an agreement that the table does not hold."""
    if new not in AGREEMENT_TRANSITIONS[old]:
        was, asked = (AGREEMENT_STATE_WORDS[one].lower() for one in (old, new))
        raise Refused(
            "agreement_state",
            f"This agreement is {was} and cannot become {asked}. Reload the page to see it.",
            old=old,
            new=new,
        )


def agreement_diagram() -> str:
    """The table as a mermaid state diagram, for the developers' guide."""
    lines = ["stateDiagram-v2", f"    [*] --> {AgreementState.DRAFT}"]
    for old, nexts in AGREEMENT_TRANSITIONS.items():
        lines += [f"    {old} --> {new}" for new in sorted(nexts)]
        if not nexts:
            lines.append(f"    {old} --> [*]")
    return "\n".join(lines) + "\n"
