"""The content of the leaves of incidents and of their later entries, built from their rows.

A version names exactly the columns it covers; words that may name somebody stand there only as
salted digests.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from treatments.models import Incident, IncidentAddendum, LogEntry
from treatments.rules.leaves import INCIDENT, INCIDENT_ADDENDUM, PURGE, instant, personal_digest

VERSION = 1
Payload = dict[str, Any]
INCIDENT_COLUMNS = (
    "id",
    "client_ref",
    "client_digest",
    "branch_id",
    "state",
    "kind",
    "happened_at",
    "property_id",
    "vehicle_id",
    "visit_ref",
    "label_version_id",
    "product_name",
    "registration_number",
    "amount",
    "amount_unit",
    "done",
    "care",
    "notice_rule",
    "notice_hours",
    "notice_due_at",
    "notice_sentence",
    "notice_clause",
    "created_at",
    "created_by_id",
)
ADDENDUM_COLUMNS = (
    "id",
    "client_ref",
    "incident_id",
    "kind",
    "agency",
    "way",
    "given_at",
    "given_by_id",
    "reference",
    "created_at",
    "created_by_id",
)


def incident_payload(incident: Incident) -> Payload:
    """What the leaf of an incident says, read from its rows."""
    values = incident.personal_values.all()
    return {
        "version": VERSION,
        "incident": _columns(incident, INCIDENT_COLUMNS),
        "records": sorted(one.record_id for one in incident.concerns.all()),
        "personal": {
            one.field: personal_digest(one.field, one.value, bytes(one.salt)) for one in values
        },
    }


def addendum_payload(addendum: IncidentAddendum) -> Payload:
    """What the leaf of a later entry says, read from its row."""
    text, salt = addendum.words, bytes(addendum.salt)
    return {
        "version": VERSION,
        "addendum": _columns(addendum, ADDENDUM_COLUMNS),
        "words": personal_digest("words", text, salt) if text else "",
    }


def _with_forgotten(branch_id: int, kept: dict[tuple[str, int], Payload]) -> None:
    """Where words are gone, what a purge leaf says of them; what a purge did not name stays out."""
    for _, row in purged_incidents(branch_id):
        report = kept.get((INCIDENT, row["incident_id"]))
        if report is not None and isinstance(row.get("digests"), dict):
            report["personal"] = {**row["digests"], **report["personal"]}
        entries = row.get("entries")
        for pk, digest in entries.items() if isinstance(entries, dict) else ():
            entry = kept.get((INCIDENT_ADDENDUM, int(pk))) if pk.isdecimal() else None
            if entry is not None and not entry["words"]:
                entry["words"] = digest


def purged_incidents(branch_id: int) -> Iterator[tuple[LogEntry, Payload]]:
    """Each purge leaf with each incident it names; what is no such row is left out."""
    for entry in LogEntry.objects.filter(branch_id=branch_id, kind=PURGE).order_by("seq"):
        rows = payload_in(bytes(entry.leaf)).get("incidents")
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, dict) and isinstance(row.get("incident_id"), int):
                yield entry, row


def _columns(row: object, names: Iterable[str]) -> Payload:
    return {name: _text(getattr(row, name)) for name in names}


def _text(value: Any) -> object:
    if isinstance(value, datetime):
        return instant(value)
    return str(value) if isinstance(value, UUID) else value


def incident_difference(branch_id: int) -> str:
    """The first incident or later entry that is not in the log as in its table; empty when none."""
    incidents = Incident.objects.filter(branch_id=branch_id).order_by("pk")
    incidents = incidents.prefetch_related("personal_values", "concerns")
    addenda = IncidentAddendum.objects.filter(incident__branch_id=branch_id).order_by("pk")
    kept = {(INCIDENT, row.pk): incident_payload(row) for row in incidents}
    kept |= {(INCIDENT_ADDENDUM, row.pk): addendum_payload(row) for row in addenda}
    _with_forgotten(branch_id, kept)
    logged, twice = _logged(branch_id)
    if twice:
        return f"Leaf {twice[0]}: {twice[1]} {twice[2]} has a leaf already."
    for kind, pk in sorted({*logged, *kept}):
        said = _difference(logged.get((kind, pk)), kept.get((kind, pk)))
        if said:
            return f"{kind} {pk}: {said}"
    return ""


def _logged(branch_id: int) -> tuple[dict[tuple[str, int], Payload], tuple[int, str, int] | None]:
    """What the leaves say, by kind and key, and the first leaf of a thing that has one already."""
    leaves = LogEntry.objects.filter(branch_id=branch_id, kind__in=(INCIDENT, INCIDENT_ADDENDUM))
    found: dict[tuple[str, int], Payload] = {}
    for seq, kind, leaf in leaves.order_by("seq").values_list("seq", "kind", "leaf"):
        said = payload_in(bytes(leaf))
        key = (kind, _key(said.get("incident" if kind == INCIDENT else "addendum")))
        if key in found:
            return found, (seq, *key)
        found[key] = said
    return found, None


def payload_in(leaf: bytes) -> Payload:
    """What a leaf says; nothing for one that is no leaf of ours."""
    try:
        said = json.loads(leaf)
    except ValueError:
        return {}
    payload = said.get("payload") if isinstance(said, dict) else None
    return payload if isinstance(payload, dict) else {}


def _key(part: object) -> int:
    key = part.get("id") if isinstance(part, dict) else None
    return key if isinstance(key, int) else 0


def _difference(said: Payload | None, kept: Payload | None) -> str:
    if said is None:
        return "it has no leaf in the log."
    if kept is None:
        return "it is in the log and not in the table."
    for part in sorted({*said, *kept}):
        one, other = said.get(part), kept.get(part)
        if one != other:
            return f"{_where(part, other, one)} is not in the table as in the log."
    return ""


def _where(part: str, one: object, other: object) -> str:
    """The part that differs, down to the column."""
    if not isinstance(one, dict) or not isinstance(other, dict):
        return part
    names = sorted(name for name in {*one, *other} if one.get(name) != other.get(name))
    return f"{part}.{names[0]}" if names else part
