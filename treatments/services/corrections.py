"""Asking for a correction or a void, and deciding about it: two people, one whole new entry."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import others_who_may
from accounts.services.audit import close_items, note_event, open_item
from sites.services.locks import lock_property
from treatments.models import ApplicationRecord, CorrectionRequest
from treatments.rules.applications import refuse_nonsense
from treatments.rules.audit.kinds import CORRECTED_COPY
from treatments.rules.corrections import (
    CUSTOMER_MUST_KNOW,
    Change,
    Facts,
    changes_between,
    rebased,
    refuse_own,
    refuse_request,
    refuse_without_reason,
)
from treatments.rules.effective import EntryKind
from treatments.rules.periods import refuse_closed
from treatments.selectors.corrections import changes_of, record_to_complete, request_for
from treatments.selectors.entries import facts_of, last_entry
from treatments.selectors.entry_whole import application_of, entry_whole
from treatments.selectors.periods import closed_through
from treatments.services.entries import Signed, store_entry, store_void
from treatments.services.entry_loads import with_product_of_load

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property

ASKED = "correction_asked"
ALONE_AFTER = timedelta(hours=24)


@transaction.atomic
def ask_correction(
    *, record_id: int, facts: Facts, reason: str, by: Person, now: datetime
) -> CorrectionRequest:
    """Ask that a record be corrected to say these facts.

    Without effect until somebody else approves it. Refused: nothing changed, no reason, what no
    record may say, an entry that another one followed, a day in a closed period.
    """
    require(by, Permission.COMPLETE_RECORDS)
    before = _standing(by, record_id)
    changes = with_product_of_load(before, changes_between(facts_of(before), facts))
    refuse_request(changes, reason)
    _read(before, rebased(facts_of(before), changes), _place(before), now)
    return _ask(before, CorrectionRequest.Kind.CORRECTION, changes, reason, by, now)


@transaction.atomic
def ask_void(*, record_id: int, reason: str, by: Person, now: datetime) -> CorrectionRequest:
    """Ask that a record be voided: the work was not done, or is recorded twice."""
    require(by, Permission.COMPLETE_RECORDS)
    refuse_without_reason(reason)
    return _ask(_standing(by, record_id), CorrectionRequest.Kind.VOID, (), reason, by, now)


def _standing(by: Person, record_id: int) -> ApplicationRecord:
    return refuse_followed(record_to_complete(by, record_id))


def refuse_followed(record: ApplicationRecord) -> ApplicationRecord:
    """The record with its lines; refused unless it is in force and its period open."""
    last = last_entry(record)
    if last.entry == EntryKind.VOID:
        raise Refused("voided", "This record was voided. What was done is recorded anew.")
    if last.pk != record.pk:
        raise Refused("followed", "Somebody changed this record. Open its last version.")
    refuse_closed(last.applied_on, closed_through(last.branch_id))
    return last


def _place(record: ApplicationRecord) -> Property:
    place = lock_property(record.property_id)
    if place is None:
        raise Refused("property", "There is no such property. Open the record again.")
    return place


def _read(before: ApplicationRecord, facts: Facts, place: Property, now: datetime) -> None:
    """Refuse what no record may say."""
    refuse_nonsense(application_of(before, facts), now=now)
    refuse_closed(entry_whole(before, facts, place).on, closed_through(before.branch_id))


def _ask(
    record: ApplicationRecord,
    kind: CorrectionRequest.Kind,
    changes: Iterable[Change],
    reason: str,
    by: Person,
    now: datetime,
) -> CorrectionRequest:
    said = [asdict(one) for one in changes]
    waiting = record.correction_requests.filter(state=CorrectionRequest.State.ASKED, kind=kind)
    if any(one.changes == said for one in waiting):
        raise Refused("asked", "This is asked for already. A manager decides about it.")
    request = CorrectionRequest.objects.create(
        record=record,
        kind=kind,
        changes=said,
        reason=reason.strip(),
        created_at=now,
        created_by=by,
    )
    open_item(
        branch_id=record.branch_id,
        code=ASKED,
        thing=request,
        sentence=f"{by.full_name} asks for a {kind.label.lower()} of record {record.pk}.",
    )
    note_event(by=by, act=f"ask_{kind}", thing=request, now=now, record=record.pk)
    return request


@transaction.atomic
def approve(*, request_id: int, by: Person, now: datetime) -> ApplicationRecord:
    """Approve what somebody else asked for: the correcting entry is stored and judged again.

    Refused: who asked (a one-person firm waits 24 hours and is marked), a request decided before,
    a field that has changed since, a record that was voided, a day in a closed period. Locks:
    request, property, load, lots, frontier.
    """
    require(by, Permission.DECIDE_CORRECTIONS)
    request = _to_decide(request_id, by)
    is_own = _refuse_own(request, by, now)
    place = _place(request.record)
    before = last_entry(request.record)
    if before.entry == EntryKind.VOID:
        raise Refused("voided", "This record was voided meanwhile. Decline the request.")
    refuse_closed(before.applied_on, closed_through(before.branch_id))
    signed = _signed(request, by, now, is_one_person_firm=is_own)
    _decide(request, CorrectionRequest.State.APPROVED, by, now)
    record = _store(request, before, place, signed)
    _follow(request, record, by)
    return record


def _store(
    request: CorrectionRequest, before: ApplicationRecord, place: Property, signed: Signed
) -> ApplicationRecord:
    if request.kind == CorrectionRequest.Kind.VOID:
        return store_void(before, signed)
    changes = changes_of(request)
    facts = rebased(facts_of(before), changes)
    refuse_nonsense(application_of(before, facts), now=signed.now)
    whole = entry_whole(before, facts, place)
    return store_entry(before, whole, {one.field for one in changes}, signed)


def _signed(
    request: CorrectionRequest, by: Person, now: datetime, *, is_one_person_firm: bool
) -> Signed:
    return Signed(
        by=request.created_by or by,
        now=now,
        kind=EntryKind(request.kind),
        reason=request.reason,
        approved_by=by,
        is_one_person_firm=is_one_person_firm,
    )


def _to_decide(request_id: int, by: Person) -> CorrectionRequest:
    """The request, locked: of two who decide at once the second finds it decided."""
    seen = request_for(by, request_id)
    locked = CorrectionRequest.objects.select_for_update(of=("self",))
    request = locked.select_related("record", "created_by").get(pk=seen.pk)
    if request.state != CorrectionRequest.State.ASKED:
        raise Refused("decided", "Somebody decided about this before you. Open the list again.")
    return request


def _refuse_own(request: CorrectionRequest, by: Person, now: datetime) -> bool:
    is_own = request.created_by_id in (None, by.pk)
    refuse_own(
        is_own=is_own,
        is_alone=is_own and not others_who_may(by, Permission.DECIDE_CORRECTIONS).exists(),
        is_a_day_old=now - request.created_at >= ALONE_AFTER,
    )
    return is_own


def _decide(
    request: CorrectionRequest,
    state: CorrectionRequest.State,
    by: Person,
    now: datetime,
    declined_reason: str = "",
) -> None:
    """Compare and set, for an engine that locks no rows."""
    decided = CorrectionRequest.objects.filter(
        pk=request.pk, state=CorrectionRequest.State.ASKED
    ).update(state=state, decided_at=now, decided_by=by, declined_reason=declined_reason)
    if not decided:
        raise Refused("decided", "Somebody decided about this before you. Open the list again.")
    note = f"{state.label} by {by.full_name}."
    close_items(code=ASKED, thing=request, note=note, now=now)
    note_event(
        by=by, act=f"{state}_{request.kind}", thing=request, now=now, record=request.record_id
    )


def _follow(request: CorrectionRequest, record: ApplicationRecord, by: Person) -> None:
    """What a new entry leaves to do: a second look, and the customer's copy."""
    if record.is_one_person_firm:
        open_item(
            branch_id=record.branch_id,
            code="one_person_firm",
            thing=record,
            sentence=f"{by.full_name} asked for and approved the {request.kind} of record "
            f"{request.record_id} alone (one-person firm). Let a second person look at it.",
        )
    changed = {one.field for one in changes_of(request)}
    if record.entry == EntryKind.VOID or changed & CUSTOMER_MUST_KNOW:
        open_item(
            branch_id=record.branch_id,
            code=CORRECTED_COPY,
            thing=record,
            sentence=f"Record {request.record_id} was {EntryKind(record.entry).past}. "
            "Give the customer the corrected copy.",
        )


@transaction.atomic
def decline(*, request_id: int, reason: str, by: Person, now: datetime) -> None:
    """Decline a request with a reason; the record stays as it is."""
    require(by, Permission.DECIDE_CORRECTIONS)
    refuse_without_reason(reason)
    request = _to_decide(request_id, by)
    _decide(request, CorrectionRequest.State.DECLINED, by, now, reason.strip())
