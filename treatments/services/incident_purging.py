"""Forgetting the words of incidents after their term: closed, unheld, logged."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.services.audit import note_event, open_item_once
from treatments.models import Incident, IncidentAddendum, IncidentPersonalValue
from treatments.rules.incident_keeping import INCIDENT_RULE
from treatments.rules.leaves import PURGE
from treatments.selectors.incident_purges import (
    IncidentPurgeRow,
    early_incident_purges,
    incident_purge_rows,
    incidents_to_forget,
)
from treatments.services.holds import lock_records
from treatments.services.log import append_leaf

if TYPE_CHECKING:
    from accounts.models import Branch, Person

VERSION = 1


def purge_incidents(
    branch: Branch, before: date, by: Person | None, now: datetime, *, dry_run: bool
) -> list[IncidentPurgeRow]:
    """Delete what may name somebody in the incidents of a branch kept until before a day.

    The caller has asked for the permission and refused a day to come. One leaf and one transaction
    an incident; the report itself, its times, product and later entries stay.
    """
    days = incidents_to_forget(branch.pk, before)
    if dry_run:
        return incident_purge_rows(days)
    found = (_forget(branch, pk, before, by, now) for pk in sorted(days))
    return [row for rows in found for row in rows]


@transaction.atomic
def _forget(
    branch: Branch, pk: int, before: date, by: Person | None, now: datetime
) -> list[IncidentPurgeRow]:
    """Take the turn of the incident and its records, ask again, delete, say so in the log."""
    incident = Incident.objects.select_for_update(of=("self",)).get(pk=pk)
    lock_records(sorted(incident.concerns.values_list("record_id", flat=True)))
    # an entry or a hold that came while we waited is seen now
    days = incidents_to_forget(branch.pk, before)
    rows = incident_purge_rows({pk: days[pk]} if pk in days else {})
    if not rows:
        return []
    IncidentPersonalValue.objects.filter(incident=pk).delete()
    IncidentAddendum.objects.filter(incident=pk).exclude(words="").update(words="", salt=b"")
    note_event(by=by, act="purge_incident", thing=incident, now=now, before=before.isoformat())
    append_leaf(
        branch_id=branch.pk,
        kind=PURGE,
        payload={
            "version": VERSION,
            "rule": INCIDENT_RULE,
            "before": before.isoformat(),
            "incidents": [asdict(row) | {"kept_through": str(row.kept_through)} for row in rows],
        },
        record=None,
        by=by,
        now=now,
    )
    return rows


def look_for_early_incident_purges(branch: Branch) -> int:
    """Check A22 for the incidents of a branch: each finding is a matter for a manager."""
    found = early_incident_purges(branch.pk)
    incidents = Incident.objects.in_bulk([pk for pk, _ in found])
    for pk, sentence in found:
        open_item_once(
            branch_id=branch.pk, code="purged_early", thing=incidents[pk], sentence=sentence
        )
    return len(found)
