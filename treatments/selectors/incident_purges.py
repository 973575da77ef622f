"""Which incidents may be forgotten, what was forgotten of them, and whether it was too early."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.db.models import Exists, OuterRef, Q

from accounts.rules.day_words import short_day
from treatments.models import (
    Incident,
    IncidentAddendum,
    IncidentPersonalValue,
    LogEntry,
    RetentionHold,
)
from treatments.rules.incident_keeping import (
    KeptIncident,
    forgettable_incidents,
    incident_last_day,
)
from treatments.rules.incidents import is_closed
from treatments.rules.purging import last_day
from treatments.selectors.incident_leaves import (
    addendum_payload,
    incident_payload,
    purged_incidents,
)
from treatments.selectors.purges import kept_records_by_key

Digests = dict[str, str]


@dataclass(frozen=True)
class IncidentPurgeRow:
    """An incident to forget: its last day, and the digests of its words and later entries."""

    incident_id: int
    kept_through: date
    digests: Digests
    entries: Digests

    @property
    def values(self) -> int:
        return len(self.digests) + len(self.entries)


def kept_incidents(branch_id: int, at: datetime | None = None) -> list[KeptIncident]:
    """Every incident of a branch as the rule takes it, now or as it stood at a time."""
    rows = Incident.objects.filter(branch_id=branch_id).order_by("pk")
    rows = rows.prefetch_related("addenda", "concerns")
    incidents = list(rows)
    keys = {one.record_id for row in incidents for one in row.concerns.all()}
    days = {one.pk: last_day(one) for one in kept_records_by_key(keys)}
    held = _held(keys, at)
    return [_kept(row, days, held, at) for row in incidents]


def _held(keys: Collection[int], at: datetime | None) -> set[int]:
    holds = RetentionHold.objects.filter(record__in=keys)
    if at is None:
        holds = holds.filter(released_at=None)
    else:
        holds = holds.filter(Q(released_at=None) | Q(released_at__gt=at), created_at__lt=at)
    return set(holds.values_list("record_id", flat=True))


def _kept(
    row: Incident, days: Mapping[int, date], held: Collection[int], at: datetime | None
) -> KeptIncident:
    entries = [one for one in row.addenda.all() if at is None or one.created_at <= at]
    records = [one.record_id for one in row.concerns.all()]
    last = max([row.created_at, *(one.created_at for one in entries)])
    return KeptIncident(
        pk=row.pk,
        last_entry_on=last.astimezone(UTC).date(),
        records_until=max((days[key] for key in records if key in days), default=None),
        is_open=not is_closed([one.kind for one in entries]),
        is_held=any(key in held for key in records),
    )


def incidents_to_forget(branch_id: int, before: date) -> dict[int, date]:
    """The incidents of a branch that may be forgotten and still have words, with their last day."""
    rows = kept_incidents(branch_id)
    free = forgettable_incidents(rows, before)
    said = IncidentPersonalValue.objects.filter(incident=OuterRef("pk"))
    more = IncidentAddendum.objects.filter(incident=OuterRef("pk")).exclude(words="")
    still = Incident.objects.filter(Exists(said) | Exists(more), pk__in=free)
    keys = set(still.values_list("pk", flat=True))
    return {one.pk: incident_last_day(one) for one in rows if one.pk in keys}


def incident_purge_rows(days: Mapping[int, date]) -> list[IncidentPurgeRow]:
    """What is deleted of these incidents, by incident; salts and words stay out of it."""
    rows = Incident.objects.filter(pk__in=days).prefetch_related(
        "personal_values", "addenda", "concerns"
    )
    return [_purge_row(row, days[row.pk]) for row in rows.order_by("pk")]


def _purge_row(row: Incident, kept_through: date) -> IncidentPurgeRow:
    words = {str(one.pk): addendum_payload(one)["words"] for one in row.addenda.all()}
    return IncidentPurgeRow(
        incident_id=row.pk,
        kept_through=kept_through,
        digests=incident_payload(row)["personal"],
        entries={pk: digest for pk, digest in words.items() if digest},
    )


def early_incident_purges(branch_id: int) -> list[tuple[int, str]]:
    """Check A22: incident and sentence of what was deleted before its day, open or under a hold."""
    found = []
    for entry, row in purged_incidents(branch_id):
        then = {one.pk: one for one in kept_incidents(branch_id, entry.at)}
        kept = then.get(row["incident_id"])
        sentence = _early(kept, entry) if kept else ""
        found += [(row["incident_id"], sentence)] if sentence else []
    return found


def _early(kept: KeptIncident, entry: LogEntry) -> str:
    until, on = incident_last_day(kept), entry.at.astimezone(UTC).date()
    said = f"Words of incident {kept.pk} were deleted on {short_day(on, True)}"
    if kept.is_open:
        return f"{said} while it was open (leaf {entry.seq})."
    if kept.is_held:
        return f"{said} while one of its records was held (leaf {entry.seq})."
    if on <= until:
        return f"{said}, before the end of {short_day(until, True)} (leaf {entry.seq})."
    return ""
