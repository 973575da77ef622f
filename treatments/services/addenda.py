"""Filling what a record left empty: by who made it or by the office, without approval."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from sites.services.locks import lock_property
from treatments.models import ApplicationRecord
from treatments.rules.applications import refuse_nonsense
from treatments.rules.corrections import Facts, changes_between, rebased, refuse_addendum
from treatments.rules.effective import EntryKind
from treatments.selectors.corrections import record_to_complete
from treatments.selectors.entries import facts_of
from treatments.selectors.entry_whole import application_of, entry_whole
from treatments.services.corrections import refuse_followed
from treatments.services.entries import Signed, store_entry

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def fill_gap(
    *, record_id: int, facts: Facts, by: Person, now: datetime, client_ref: uuid.UUID
) -> ApplicationRecord:
    """Store an addendum: the whole record with its empty fields filled, its own time and leaf.

    The same reference again is a replay. Refused: a field that has a value (a correction changes
    it), nothing filled, an entry that another one followed, a day in a closed period.
    """
    require(by, Permission.COMPLETE_RECORDS)
    record = record_to_complete(by, record_id)
    place = lock_property(record.property_id)
    first = ApplicationRecord.objects.filter(client_ref=client_ref, corrects=record).first()
    if first is not None:
        return first
    if place is None:
        raise Refused("property", "There is no such property. Open the record again.")
    before = refuse_followed(record)
    changes = changes_between(facts_of(before), facts)
    refuse_addendum(changes)
    said = rebased(facts_of(before), changes)
    refuse_nonsense(application_of(before, said), now=now)
    signed = Signed(by=by, now=now, kind=EntryKind.ADDENDUM, client_ref=client_ref)
    whole = entry_whole(before, said, place)
    addendum = store_entry(before, whole, {one.field for one in changes}, signed)
    note_event(by=by, act="fill_gap", thing=addendum, now=now, record=before.pk)
    return addendum
