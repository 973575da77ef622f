"""What is said of a spill, exposure, illness or drift, and what can only be a slip of the pen.

Nothing that happened is refused: a report may be short and is completed later. Control, contain
and clean up, and who is called when, are of reference/trade.md 8 (read, NPIC and extension pages).
"""

from __future__ import annotations

import hmac
import json
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from hashlib import sha256
from uuid import UUID

from accounts.refusals import Refused
from accounts.rules.lines import line, one_of, paragraph
from sites.rules.units import parse_amount, unit_word
from treatments.rules.applications import CLOCKS_DIFFER, MOST, Entered

OLDEST = timedelta(days=3653)  # ten years: earlier is a slip of the year (house rule)
LONGEST_WORDS = 4000
LONGEST_REASON = 1000


class IncidentKind(StrEnum):
    """What kind of thing happened."""

    SPILL = "spill"
    EXPOSURE = "exposure"
    ILLNESS = "illness"
    DRIFT = "drift"
    OTHER = "other"


INCIDENT_WORDS: Mapping[StrEnum, str] = {
    IncidentKind.SPILL: "Spill",
    IncidentKind.EXPOSURE: "Exposure",
    IncidentKind.ILLNESS: "Illness",
    IncidentKind.DRIFT: "Drift",
    IncidentKind.OTHER: "Other incident",
}


class Step(StrEnum):
    """What one does about a spill, in this order."""

    CONTROL = "control"
    CONTAIN = "contain"
    CLEAN_UP = "clean_up"


STEP_WORDS: Mapping[StrEnum, str] = {
    Step.CONTROL: "Controlled: the leak is stopped, people and pets are kept away",
    Step.CONTAIN: "Contained: dammed, absorbed, kept out of drains and water",
    Step.CLEAN_UP: "Cleaned up: swept up, bagged and labeled, the place washed by the label",
}


class MedicalCare(StrEnum):
    """What was done for people, the gravest that applies."""

    NONE = "none"
    FIRST_AID = "first_aid"
    ADVICE = "advice"
    DOCTOR = "doctor"
    EMERGENCY = "emergency"
    NOT_KNOWN = "not_known"


CARE_WORDS: Mapping[StrEnum, str] = {
    MedicalCare.NONE: "None was needed",
    MedicalCare.FIRST_AID: "First aid of the label",
    MedicalCare.ADVICE: "Poison Help or NPIC was called",
    MedicalCare.DOCTOR: "Seen by a doctor",
    MedicalCare.EMERGENCY: "911, ambulance or hospital",
    MedicalCare.NOT_KNOWN: "Not known yet",
}


class AddendumKind(StrEnum):
    """What a later entry does."""

    ADDITION = "addition"
    NOTICE = "notice"
    CLOSING = "closing"
    REOPENING = "reopening"


ADDENDUM_WORDS: Mapping[StrEnum, str] = {
    AddendumKind.ADDITION: "Added",
    AddendumKind.NOTICE: "Agency notice given",
    AddendumKind.CLOSING: "Closed",
    AddendumKind.REOPENING: "Opened again",
}


class Way(StrEnum):
    """How the agency was told."""

    TELEPHONE = "telephone"
    EMAIL = "email"
    FORM = "form"
    LETTER = "letter"
    IN_PERSON = "in_person"


WAY_WORDS: Mapping[StrEnum, str] = {
    Way.TELEPHONE: "By telephone",
    Way.EMAIL: "By e-mail",
    Way.FORM: "By the agency's form",
    Way.LETTER: "By letter",
    Way.IN_PERSON: "In person",
}


@dataclass(frozen=True)
class NewIncident:
    """One incident as reported; `client_ref` is minted with the form and names it for good.

    `happened_at` carries its zone. Where: a property, a vehicle, or words. `where`, `what`, `whom`,
    `done_words` and `care_words` may name people and are personal values.
    """

    client_ref: UUID
    kind: str
    happened_at: datetime
    what: str
    property_id: int | None = None
    vehicle_id: int | None = None
    where: str = ""
    whom: str = ""
    label_version_id: int | None = None
    record_ids: tuple[int, ...] = ()
    amount: Entered | None = None
    done: tuple[str, ...] = ()
    done_words: str = ""
    care: str = MedicalCare.NOT_KNOWN
    care_words: str = ""
    visit_ref: str = ""


@dataclass(frozen=True)
class NewNotice:
    """One notice to an agency: which, when, by whom, how, under which number."""

    client_ref: UUID
    agency: str
    given_at: datetime
    given_by_id: int
    way: str = Way.TELEPHONE
    reference: str = ""
    words: str = ""


def digest_of(incident: NewIncident) -> str:
    """Hex of the SHA-256 of everything reported, to know the same report sent again."""
    text = json.dumps(asdict(incident), sort_keys=True, default=str, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def salted_digest(digest: str, salt: bytes) -> str:
    """Hex of HMAC-SHA-256 (RFC 2104) of a report's digest under its own salt.

    Without the salt, which is forgotten with the words, no guess of the words can be compared.
    """
    return hmac.new(salt, digest.encode(), sha256).hexdigest()


def refuse_incident(incident: NewIncident, *, now: datetime) -> None:
    """Refuse what cannot be true or says nothing: kind, time, what, where, amount, care."""
    one_of(incident.kind, list(IncidentKind), field="kind", label="What it is")
    refuse_moment(incident.happened_at, now=now, field="happened")
    if not incident.what.strip():
        raise Refused("missing", "Say in a few words what happened.", field="what")
    if not (incident.property_id or incident.vehicle_id or incident.where.strip()):
        raise Refused("missing", "Say where: choose the vehicle or write the place.", field="where")
    if not set(incident.done) <= set(Step):
        raise Refused("choice", "What was done: choose from the list.", field="done")
    one_of(incident.care, list(MedicalCare), field="care", label="Medical care")
    amount_words(incident.amount)
    personal_values(incident)


def refuse_moment(at: datetime, *, now: datetime, field: str) -> None:
    """Refuse a time that is still to come, or more than ten years back."""
    if at > now + CLOCKS_DIFFER:
        raise Refused("future", "This time has not come yet. Check day and hour.", field=field)
    if now - at > OLDEST:
        raise Refused("too_old", "This is more than ten years ago. Check the year.", field=field)


def amount_words(amount: Entered | None) -> str:
    """0.5 gal, as typed; refused when it is no amount. Empty for none."""
    if amount is None or not amount.text.strip():
        return ""
    try:
        parse_amount(amount.text, amount.unit, at_most=MOST)
    except Refused as refused:
        raise Refused("amount", refused.sentence, field="amount") from refused
    return f"{amount.text.strip()} {unit_word(amount.unit)}"


def personal_values(incident: NewIncident) -> dict[str, str]:
    """The words of a report that may name somebody, by field; refused when too long."""
    texts = {
        "where": (incident.where, "Where"),
        "what": (incident.what, "What happened"),
        "whom": (incident.whom, "Whom"),
        "done": (incident.done_words, "What was done"),
        "care": (incident.care_words, "Medical care"),
    }
    said = {
        field: paragraph(text, field=field, label=label, most=LONGEST_WORDS)
        for field, (text, label) in texts.items()
    }
    return {field: text for field, text in said.items() if text}


def refuse_notice(notice: NewNotice, *, happened_at: datetime, now: datetime) -> None:
    """Refuse a notice without agency, before the incident, or in the future."""
    line(notice.agency, field="agency", label="Agency", most=120)
    one_of(notice.way, list(Way), field="way", label="How")
    refuse_moment(notice.given_at, now=now, field="given")
    if notice.given_at < happened_at:
        sentence = "The agency cannot be told before it happened. Check day and hour."
        raise Refused("early", sentence, field="given")


def is_closed(kinds: Collection[str]) -> bool:
    """Whether the last closing or reopening among the later entries, in order, is a closing."""
    turns = [k for k in kinds if k in (AddendumKind.CLOSING, AddendumKind.REOPENING)]
    return bool(turns) and turns[-1] == AddendumKind.CLOSING
