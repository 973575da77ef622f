"""A record that is completed, corrected or voided, and what hangs on it under the roof.

The visit names the new entry, renewals follow its windows: one transaction with the entry itself.
Order of locks: renewals, then what the floor below takes (DEVELOPERS.md, "Order of locks").
"""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from scheduling.models import Renewal, RenewalZone, Visit, VisitApplication
from scheduling.rules.day_words import local
from scheduling.rules.visit_states import RenewalState
from scheduling.services.copies import queue_corrected
from scheduling.services.sweep import sweep_property
from treatments.rules.corrections import Facts
from treatments.selectors.corrections import record_to_complete, request_for
from treatments.selectors.windows import protection_of, windows_of_record
from treatments.services.addenda import fill_gap
from treatments.services.corrections import approve_all

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ApplicationRecord


@transaction.atomic
def fill_gap_of(
    *, record_id: int, facts: Facts, by: Person, now: datetime, client_ref: uuid.UUID
) -> ApplicationRecord:
    """Store an addendum and let visit and renewals follow it."""
    _lock_renewals(record_to_complete(by, record_id).property_id)
    entry = fill_gap(record_id=record_id, facts=facts, by=by, now=now, client_ref=client_ref)
    _follow(entry, by, now)
    return entry


@transaction.atomic
def approve_request(*, request_id: int, by: Person, now: datetime) -> tuple[ApplicationRecord, ...]:
    """Approve a correction or a void; visit, renewals and the customer's copy follow it.

    Every entry that is stored: of a tank of two products one each, all of them or none.
    """
    _lock_renewals(request_for(by, request_id).record.property_id)
    entries = approve_all(request_id=request_id, by=by, now=now)
    for entry in entries:
        _follow(entry, by, now)
        queue_corrected(entry=entry, by=by, now=now)
    return entries


def _lock_renewals(property_id: int) -> None:
    rows = Renewal.objects.select_for_update(of=("self",)).filter(property_id=property_id)
    list(rows.order_by("pk").values_list("pk"))


def _follow(entry: ApplicationRecord, by: Person, now: datetime) -> None:
    _name_at_visit(entry)
    _take_over_windows(entry)
    _free_what_is_due_again(entry)
    today = local(now, entry.branch.time_zone).date()
    sweep_property(property_id=entry.property_id, today=today, now=now, by=by)


def _name_at_visit(entry: ApplicationRecord) -> None:
    visit = Visit.objects.filter(ref=entry.visit_ref).first() if entry.visit_ref else None
    if visit is not None:
        VisitApplication.objects.get_or_create(record=entry, defaults={"visit": visit})


def _take_over_windows(entry: ApplicationRecord) -> None:
    """A renewal of the earlier entry's window is one of the window that took its place."""
    fresh = {(one.zone_id, one.pest_group): one for one in windows_of_record(entry.pk)}
    old = {one.pk: one for one in windows_of_record(entry.corrects_id or 0)}
    for line in RenewalZone.objects.filter(window__in=old):
        window = old[line.window_id]
        instead = fresh.get((window.zone_id, window.pest_group))
        if instead is not None:
            RenewalZone.objects.filter(pk=line.pk).update(window=instead)


def _free_what_is_due_again(entry: ApplicationRecord) -> None:
    """A window that is in force again was not followed: the renewal done by this record lied."""
    zones = {one.zone_id for one in windows_of_record(entry.corrects_id or 0)}
    in_force = [one.window_id for rows in protection_of(zones).values() for one in rows]
    done = RenewalZone.objects.filter(renewal__state=RenewalState.DONE, window__in=in_force)
    own = {one.pk for one in windows_of_record(entry.pk)}
    done.exclude(window__in=own).delete()
