"""Forgetting personal values after retention: refused early, logged, the tree stays whole."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event, open_item_once
from treatments.models import ApplicationRecord, RecordPersonalValue
from treatments.rules.leaves import PURGE
from treatments.rules.purging import RULE
from treatments.selectors.purges import PurgeRow, early_purges, keys_to_forget, purge_rows
from treatments.services.copies import forget_copies
from treatments.services.holds import lock_records
from treatments.services.incident_purging import look_for_early_incident_purges, purge_incidents
from treatments.services.log import append_leaf

if TYPE_CHECKING:
    from accounts.models import Branch, Person

RECORDS_A_LEAF = 200
VERSION = 1


@dataclass(frozen=True)
class Purged:
    """What was forgotten in one branch, or would be."""

    branch_name: str
    records: int
    values: int
    incidents: int = 0


def purge_records(
    *, before: date, by: Person | None, now: datetime, dry_run: bool = False
) -> tuple[Purged, ...]:
    """Delete the personal values of records and incidents whose last day lies before a day.

    Records, amounts, judgements and leaves stay; each deletion is a leaf with the digests of what
    went, who did it and the rule. Refused: a day that is not over yet in one of the branches.
    A hold or an open incident keeps a record; the database refuses the rest a second time.
    """
    require(by, Permission.PURGE_RECORDS)
    branches = list(branches_for(by).order_by("pk"))
    for branch in branches:
        _refuse_early(before, branch, now)
    return tuple(_branch(branch, before, by, now, dry_run) for branch in branches)


def _refuse_early(before: date, branch: Branch, now: datetime) -> None:
    # the database's own guard counts days in UTC
    today = min(now.astimezone(zone).date() for zone in (ZoneInfo(branch.time_zone), UTC))
    if before > today:
        raise Refused(
            "early",
            f"{short_day(before, True)} is still to come at {branch.name}: what is kept until "
            f"then must stay. Give a day up to {short_day(today, True)}.",
            field="before",
        )


def _branch(
    branch: Branch, before: date, by: Person | None, now: datetime, dry_run: bool
) -> Purged:
    keys = keys_to_forget(branch.pk, before)
    records = values = 0
    for start in range(0, len(keys), RECORDS_A_LEAF):
        portion = keys[start : start + RECORDS_A_LEAF]
        rows = purge_rows(portion) if dry_run else _forget(branch, portion, before, by, now)
        records, values = records + len(rows), values + sum(len(row.digests) for row in rows)
    incidents = purge_incidents(branch, before, by, now, dry_run=dry_run)
    values += sum(row.values for row in incidents)
    return Purged(branch.name, records, values, len(incidents))


@transaction.atomic
def _forget(
    branch: Branch, keys: list[int], before: date, by: Person | None, now: datetime
) -> list[PurgeRow]:
    """Take the records' turn, ask again, delete, and say so in the log."""
    lock_records(keys)
    # a hold that was set while we waited is seen now
    still = set(keys_to_forget(branch.pk, before))
    rows = purge_rows([key for key in keys if key in still])
    if not rows:
        return []
    gone = [row.record_id for row in rows]
    RecordPersonalValue.objects.filter(record__in=gone).delete()
    forget_copies(gone, now)
    note_event(
        by=by, act="purge_records", thing=branch, now=now, before=before.isoformat(),
        records=gone,
    )  # fmt: skip
    append_leaf(
        branch_id=branch.pk,
        kind=PURGE,
        payload={
            "version": VERSION,
            "rule": RULE,
            "before": before.isoformat(),
            "records": [asdict(row) | {"retain_until": str(row.retain_until)} for row in rows],
        },
        record=None,
        by=by,
        now=now,
    )
    return rows


def look_for_early_purges(*, now: datetime) -> int:
    """Check A22 over every branch: each finding is a matter for a manager; how many there are."""
    found = 0
    for branch in branches_for(None):
        for record_id, sentence in early_purges(branch.pk):
            record = ApplicationRecord.objects.get(pk=record_id)
            open_item_once(
                branch_id=branch.pk, code="purged_early", thing=record, sentence=sentence
            )
            found += 1
        found += look_for_early_incident_purges(branch)
    return found
