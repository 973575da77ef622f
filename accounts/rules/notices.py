"""Notices to customers: kinds, states, ways and evidence, each a closed list with its words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum


class Kind(StrEnum):
    """What a notice is for."""

    COPY = "copy"
    CORRECTED_COPY = "corrected_copy"
    INSPECTION = "inspection_report"
    OFFER = "offer"
    APPOINTMENT = "appointment"
    REMINDER = "reminder"
    TASKS = "tasks"


KIND_WORDS: Mapping[Kind, str] = {
    Kind.COPY: "Copy of the record",
    Kind.CORRECTED_COPY: "Corrected copy",
    Kind.INSPECTION: "Inspection report",
    Kind.OFFER: "Offer of a visit",
    Kind.APPOINTMENT: "Appointment",
    Kind.REMINDER: "Reminder",
    Kind.TASKS: "Asking for tasks",
}


class Way(StrEnum):
    """How a notice reaches somebody."""

    EMAIL = "email"
    PAPER = "paper"
    PHONE = "phone"


WAY_WORDS: Mapping[Way, str] = {
    Way.EMAIL: "E-mail",
    Way.PAPER: "Paper",
    Way.PHONE: "On the phone",
}


class State(StrEnum):
    """Where a notice stands; what became of it at the other end is evidence, not a state."""

    WAITING = "waiting"
    SENDING = "sending"
    TAKEN = "taken"
    REFUSED = "refused"
    DOUBTFUL = "doubtful"
    FAILED = "failed"
    CANCELED = "canceled"
    BY_HAND = "by_hand"


STATE_WORDS: Mapping[State, str] = {
    State.WAITING: "Waiting to be sent",
    State.SENDING: "Being sent",
    State.TAKEN: "Taken by the mail server",
    State.REFUSED: "Refused by the mail server",
    State.DOUBTFUL: "Perhaps sent",
    State.FAILED: "Not sent",
    State.CANCELED: "Canceled",
    State.BY_HAND: "Given by hand",
}
# a person may have one of these sent again; what is under way is sent once
MAY_GO_AGAIN = frozenset({State.TAKEN, State.REFUSED, State.DOUBTFUL, State.FAILED})


class Evidence(StrEnum):
    """What is known of a notice at the other end. None of them says that anybody read it."""

    TAKEN = "taken"
    BOUNCED = "bounced"
    OPENED = "opened"
    SHOWN = "shown"
    HANDED = "handed"


EVIDENCE_WORDS: Mapping[Evidence, str] = {
    Evidence.TAKEN: "taken by the mail server",
    Evidence.BOUNCED: "came back",
    Evidence.OPENED: "opened by its link",
    Evidence.SHOWN: "shown on the phone",
    Evidence.HANDED: "handed over on paper",
}
BY_HAND: Mapping[Way, Evidence] = {Way.PAPER: Evidence.HANDED, Way.PHONE: Evidence.SHOWN}


def leaves_a_copy(kinds: Iterable[str]) -> bool:
    """Whether what is known of one notice is evidence that the customer has the copy.

    What was only shown leaves nothing behind, and what came back did not arrive (house rule).
    """
    known = set(kinds)
    if known & {Evidence.HANDED, Evidence.OPENED}:
        return True
    return Evidence.TAKEN in known and Evidence.BOUNCED not in known


# codes of open items about notices
IN_DOUBT, NOT_SENT = "notice_in_doubt", "notice_not_sent"
FIRST_WAIT = timedelta(minutes=15)
LONGEST_WAIT = timedelta(hours=6)
# a mail server is given four to five days before one gives up (RFC 5321, 4.5.4.1)
GIVE_UP_AFTER = timedelta(days=5)


def wait_after(attempts: int) -> timedelta:
    """How long to wait after so many failed attempts: doubled each time, six hours at most."""
    doublings = min(max(attempts - 1, 0), 10)
    return min(FIRST_WAIT * (1 << doublings), LONGEST_WAIT)


@dataclass(frozen=True)
class Attachment:
    """A paper that goes with a notice, as bytes."""

    name: str
    content: bytes
    media_type: str = "application/pdf"


@dataclass(frozen=True)
class LinkWish:
    """A link that is made when the notice goes out: whose, about which property, until when."""

    contact_id: int
    property_ref: int
    last_day: date


@dataclass(frozen=True)
class Draft:
    """A notice to be: `about` is the thing by table and key, `unique_key` says it once.

    `values` fill the placeholders of the kind's template; `keep_until` is the last day its
    addresses and words are kept, None where they go with what it is about.
    """

    kind: Kind
    branch_id: int
    customer_id: int
    about: str
    unique_key: str
    to_name: str
    values: Mapping[str, str] = field(default_factory=dict)
    to_email: str = ""
    attachment: Attachment | None = None
    keep_until: date | None = None
    link: LinkWish | None = None
