"""Holding a record beyond its retention, and letting it go again, each with a reason."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line
from accounts.services.audit import note_event
from treatments.models import ApplicationRecord, Incident, RetentionHold
from treatments.selectors.holds import hold_for
from treatments.selectors.records import record_for

if TYPE_CHECKING:
    from accounts.models import Person

LONGEST = 200


@transaction.atomic
def set_hold(*, record_id: int, reason: str, by: Person, now: datetime) -> RetentionHold:
    """Keep a record until the hold is released, whatever its retention says.

    Refused: no reason. Several holds may stand; each is released by itself.
    """
    require(by, Permission.HOLD_RECORDS)
    record = record_for(by, record_id)
    lock_records([record.pk])
    text = line(reason, field="reason", label="Reason", most=LONGEST)
    hold = RetentionHold.objects.create(record=record, reason=text, created_by=by, created_at=now)
    note_event(by=by, act="set_hold", thing=record, now=now, hold=hold.pk, reason=text)
    return hold


@transaction.atomic
def release_hold(*, hold_id: int, reason: str, by: Person, now: datetime) -> None:
    """End a hold, once, with a reason; the retention of the record counts again.

    Refused: no reason, a hold of an open incident, one that was released before.
    """
    require(by, Permission.HOLD_RECORDS)
    hold = hold_for(by, hold_id)
    text = line(reason, field="reason", label="Reason", most=LONGEST)
    if hold.incident_id is not None:
        sentence = f"Incident {hold.incident_id} holds this record. Close the incident instead."
        raise Refused("incident_holds", sentence)
    still = RetentionHold.objects.filter(pk=hold.pk, released_at=None)
    if not still.update(released_at=now, released_by=by, release_reason=text):
        raise Refused("released", "This hold was released before. Open the record again.")
    note_event(by=by, act="release_hold", thing=hold.record, now=now, hold=hold.pk, reason=text)


def hold_for_incident(incident: Incident, by: Person | None, now: datetime) -> None:
    """An open incident holds every record it concerns (house rule)."""
    keys = sorted(incident.concerns.values_list("record_id", flat=True))
    lock_records(keys)
    RetentionHold.objects.bulk_create(
        RetentionHold(
            record_id=key,
            incident=incident,
            reason=f"Incident {incident.pk} is open.",
            created_by=by,
            created_at=now,
        )
        for key in keys
    )


def release_for_incident(incident: Incident, by: Person | None, now: datetime) -> None:
    """A closed incident holds nothing any more."""
    incident.holds.filter(released_at=None).update(
        released_at=now, released_by=by, release_reason=f"Incident {incident.pk} was closed."
    )


def lock_records(record_ids: list[int]) -> None:
    """Take the rows that a purge takes before it deletes, so that it sees the hold."""
    rows = ApplicationRecord.objects.select_for_update(of=("self",), no_key=True)
    list(rows.filter(pk__in=record_ids).order_by("pk").values_list("pk", flat=True))
