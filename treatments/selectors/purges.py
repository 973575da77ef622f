"""What may be forgotten, what was forgotten, and whether it was too early."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet

from accounts.rules.day_words import short_day
from treatments.models import ApplicationRecord, LogEntry, RecordPersonalValue, RetentionHold
from treatments.rules.leaves import PURGE, personal_digest
from treatments.rules.purging import Kept, forgettable, last_day
from treatments.selectors.incident_leaves import payload_in

Digests = dict[str, str]


@dataclass(frozen=True)
class PurgeRow:
    """A record to forget: until when it was kept, and the digests of what is deleted."""

    record_id: int
    retain_until: date
    digests: Digests


def kept_records(branch_id: int) -> list[Kept]:
    """Every entry of a branch as the rule takes it, with whether a hold stands."""
    return _kept_rows(ApplicationRecord.objects.filter(branch_id=branch_id))


def kept_records_by_key(record_ids: Collection[int]) -> list[Kept]:
    """These entries as the rule takes them, with whether a hold stands."""
    return _kept_rows(ApplicationRecord.objects.filter(pk__in=record_ids))


def _kept_rows(rows: QuerySet[ApplicationRecord]) -> list[Kept]:
    held = RetentionHold.objects.filter(record=OuterRef("pk"), released_at=None)
    return [_kept(row, ZoneInfo("UTC")) for row in rows.annotate(held=Exists(held)).order_by("pk")]


def _kept(row: Any, zone: ZoneInfo) -> Kept:
    return Kept(
        pk=row.pk,
        applied_on=row.applied_on,
        recorded_on=row.received_at.astimezone(zone).date(),
        retain_until=row.retain_until,
        corrects=row.corrects_id,
        is_held=row.held,
        codes=tuple(row.profile_codes),
    )


def keys_to_forget(branch_id: int, before: date) -> list[int]:
    """The records of a branch that may be forgotten and of which values are still kept."""
    free = forgettable(kept_records(branch_id), before)
    named = RecordPersonalValue.objects.filter(record__branch_id=branch_id)
    still = set(named.order_by().values_list("record_id", flat=True).distinct())
    return sorted(free & still)


def purge_rows(record_ids: Collection[int]) -> list[PurgeRow]:
    """What is deleted of these records, by record; salts and values stay out of it."""
    digests: defaultdict[int, Digests] = defaultdict(dict)
    values = RecordPersonalValue.objects.filter(record__in=record_ids).order_by("pk")
    for row in values:
        digests[row.record_id][row.field] = personal_digest(row.field, row.value, bytes(row.salt))
    days = dict(
        ApplicationRecord.objects.filter(pk__in=record_ids).values_list("pk", "retain_until")
    )
    return [PurgeRow(pk, days[pk], digests[pk]) for pk in sorted(digests)]


def forgotten_values(branch_id: int) -> dict[int, Digests]:
    """The digests of deleted values by record, as the purge leaves of a branch say them."""
    found: defaultdict[int, Digests] = defaultdict(dict)
    for _, row in _purged(branch_id):
        digests = row.get("digests")
        if isinstance(digests, dict):
            found[row["record_id"]] |= digests
    return dict(found)


def with_forgotten(
    payloads: Mapping[int, dict[str, Any]], forgotten: Mapping[int, Digests]
) -> dict[int, dict[str, Any]]:
    """What the leaves of records said: the rows, and for what is deleted the purge's digest."""
    return {
        pk: payload | {"personal": {**forgotten.get(pk, {}), **payload["personal"]}}
        for pk, payload in payloads.items()
    }


def _purged(branch_id: int) -> Iterator[tuple[LogEntry, dict[str, Any]]]:
    """Each purge leaf with each record it names; what is no such row is left out."""
    for entry in LogEntry.objects.filter(branch_id=branch_id, kind=PURGE).order_by("seq"):
        rows = payload_in(bytes(entry.leaf)).get("records")
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, dict) and isinstance(row.get("record_id"), int):
                yield entry, row


def early_purges(branch_id: int) -> list[tuple[int, str]]:
    """Check A22: record and sentence of what was deleted before its day or under a hold."""
    zones = dict(ApplicationRecord.objects.values_list("branch_id", "branch__time_zone").distinct())
    zone = ZoneInfo(zones.get(branch_id, "UTC"))
    purged = [(entry, row["record_id"]) for entry, row in _purged(branch_id)]
    held = Exists(RetentionHold.objects.filter(record=OuterRef("pk"), released_at=None))
    rows = ApplicationRecord.objects.annotate(held=held)
    records = rows.in_bulk([pk for _, pk in purged])
    found = []
    for entry, pk in purged:
        if pk in records:
            sentence = _early(records[pk], entry, zone)
            found += [(pk, sentence)] if sentence else []
    return found


def _early(record: Any, entry: LogEntry, zone: ZoneInfo) -> str:
    until, on = last_day(_kept(record, zone)), entry.at.astimezone(zone).date()
    if on <= until:
        return (
            f"Personal values of record {record.pk} were deleted on {short_day(on, True)}, before "
            f"the end of {short_day(until, True)} (leaf {entry.seq})."
        )
    if _was_held(record.pk, entry.at):
        return (
            f"Personal values of record {record.pk} were deleted on {short_day(on, True)} while a "
            f"hold stood (leaf {entry.seq})."
        )
    return ""


def _was_held(record_id: int, at: datetime) -> bool:
    holds = RetentionHold.objects.filter(record_id=record_id, created_at__lt=at)
    return holds.filter(Q(released_at=None) | Q(released_at__gt=at)).exists()
