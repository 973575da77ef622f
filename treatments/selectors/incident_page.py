"""One incident as its page shows it, and what its forms offer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from accounts.selectors.people import people_for
from sites.rules.units import unit_word
from treatments.models import ApplicationRecord, IncidentAddendum, LogEntry
from treatments.rules.incidents import (
    ADDENDUM_WORDS,
    STEP_WORDS,
    WAY_WORDS,
    AddendumKind,
    Step,
    Way,
)
from treatments.rules.leaves import INCIDENT
from treatments.rules.stock import PlaceKind
from treatments.selectors.incidents import (
    IncidentRow,
    incident_for,
    incident_row,
    moment_words,
)
from treatments.selectors.labels import labels_in_force
from treatments.selectors.stock import places_for

if TYPE_CHECKING:
    from accounts.models import Person

RECORDS_OFFERED = 30
FORGOTTEN = "No longer kept: deleted past its term. The log holds the purge."


@dataclass(frozen=True)
class Entry:
    """One line of the history: when it was written, by whom, what."""

    word: str
    at: str
    by: str
    facts: tuple[tuple[str, str], ...]
    words: str


@dataclass(frozen=True)
class IncidentPage:
    """One incident with its facts, its clock, its history and its place in the log."""

    row: IncidentRow
    facts: tuple[tuple[str, str], ...]
    records: tuple[ApplicationRecord, ...]
    entries: tuple[Entry, ...]
    reported: str
    leaf: int | None

    @property
    def incident(self) -> Any:
        return self.row.incident


def incident_page(person: Person, pk: int, now: datetime) -> IncidentPage:
    """The page of an incident the person may see, else Http404."""
    incident = incident_for(person, pk)
    zone = ZoneInfo(incident.branch.time_zone)
    row = incident_row(incident, now)
    by = incident.created_by.full_name if incident.created_by else "the system"
    return IncidentPage(
        row=row,
        facts=tuple((name, value) for name, value in _facts(incident, row) if value),
        records=tuple(one.record for one in incident.concerns.all()),
        entries=tuple(_entry(one, zone) for one in incident.addenda.all()),
        reported=f"{moment_words(incident.created_at, zone)} by {by}",
        leaf=_leaf(incident),
    )


def _facts(incident: Any, row: IncidentRow) -> tuple[tuple[str, str], ...]:
    said = {one.field: one.value for one in incident.personal_values.all()}
    unit = unit_word(incident.amount_unit) if incident.amount_unit else ""
    number = incident.registration_number
    product = f"{incident.product_name}, {number}" if number else incident.product_name
    return (
        ("When", row.when),
        ("Where", row.where),
        ("What happened", said.get("what", FORGOTTEN)),
        ("Whom", said.get("whom", "")),
        ("Product", product),
        ("Amount", f"{incident.amount} {unit}".strip()),
        ("Done", "\n".join(STEP_WORDS[Step(one)] for one in incident.done)),
        ("Done, in words", said.get("done", "")),
        ("Medical care", incident.get_care_display()),
        ("Care, in words", said.get("care", "")),
    )


def _entry(row: IncidentAddendum, zone: ZoneInfo) -> Entry:
    facts: tuple[tuple[str, str], ...] = ()
    if row.kind == AddendumKind.NOTICE and row.given_at and row.given_by:
        facts = (
            ("Agency", row.agency),
            ("Given", moment_words(row.given_at, zone)),
            ("By", row.given_by.full_name),
            ("How", WAY_WORDS[Way(row.way)]),
            ("Reference", row.reference or "none was given"),
        )
    return Entry(
        word=ADDENDUM_WORDS[AddendumKind(row.kind)],
        at=moment_words(row.created_at, zone),
        by=row.created_by.full_name if row.created_by else "the system",
        facts=facts,
        words=row.words or ("" if row.kind == AddendumKind.NOTICE else FORGOTTEN),
    )


def _leaf(incident: Any) -> int | None:
    """Which leaf of the branch's log the report is: the one written with it."""
    leaves = LogEntry.objects.filter(branch=incident.branch_id, kind=INCIDENT)
    marker = f'"client_ref":"{incident.client_ref}"'.encode()
    rows = leaves.filter(at__gte=incident.created_at).order_by("seq")
    for seq, leaf in rows.values_list("seq", "leaf")[:20]:
        if marker in bytes(leaf):
            return int(seq)
    return None


def product_choices(on: date) -> list[tuple[int, str]]:
    """The label in force of every product, by name."""
    labels = labels_in_force(on).select_related("product").order_by("product__name")
    return [(one.pk, one.product.name) for one in labels]


def vehicle_choices(person: Person) -> list[tuple[int, str]]:
    """The vehicles of the person's branches."""
    return [(one.pk, str(one)) for one in places_for(person).filter(kind=PlaceKind.VEHICLE)]


def record_choices(property_id: int) -> list[tuple[int, str]]:
    """The latest records of a property, as one line each; the caller may see it."""
    rows = ApplicationRecord.objects.filter(property_id=property_id)
    return [
        (one.pk, f"{one.pk}: {one.product_name or one.method}, {one.applied_on:%b} "
                 f"{one.applied_on.day}, {one.applied_on.year}")
        for one in rows.order_by("-applied_on", "-pk")[:RECORDS_OFFERED]
    ]  # fmt: skip


def people_choices(person: Person) -> list[tuple[int, str]]:
    """Who may have told an agency: the people of the person's branches."""
    return [(one.pk, one.full_name) for one in people_for(person).order_by("full_name")]
