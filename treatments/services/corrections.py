"""Asking for a correction or a void, and deciding about it: two people, one whole new entry."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import others_who_may
from accounts.services.audit import close_items, note_event, open_item
from sites.services.locks import lock_property
from treatments.models import ApplicationRecord, CorrectionRequest, Load, StockMove
from treatments.rules.applications import refuse_nonsense
from treatments.rules.audit.kinds import CORRECTED_COPY
from treatments.rules.corrections import (
    CUSTOMER_MUST_KNOW,
    Change,
    Facts,
    changes_between,
    of_the_spray,
    rebased,
    refuse_own,
    refuse_request,
    refuse_without_reason,
)
from treatments.rules.effective import EntryKind
from treatments.rules.periods import refuse_closed
from treatments.selectors.corrections import (
    beside_in_tank,
    changes_of,
    group_of,
    record_to_complete,
)
from treatments.selectors.entries import facts_of, last_entry
from treatments.selectors.entry_whole import application_of, entry_whole
from treatments.selectors.loads import load_key
from treatments.selectors.periods import closed_through
from treatments.selectors.stock import vehicle_at
from treatments.services.entries import Signed, store_entry, store_void
from treatments.services.entry_loads import with_product_of_load
from treatments.services.load_stock import lock_lots_of

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

    Volume, times, method and zones are of the spray: where a load put two products out together
    the request is for the record of each, decided at once. Without effect until somebody else
    approves it. Refused: nothing changed, no reason, what no record may say, an entry that
    another one followed, a day in a closed period.
    """
    require(by, Permission.COMPLETE_RECORDS)
    before = _standing(by, record_id)
    changes = with_product_of_load(before, changes_between(facts_of(before), facts))
    refuse_request(changes, reason)
    place = _place(before)
    others = _others_in_tank(before, changes)
    for record, said in ((before, changes), *others):
        _read(record, rebased(facts_of(record), said), place, now)
    kind = CorrectionRequest.Kind.CORRECTION
    request = _ask(before, kind, changes, reason, by, now, beside=[one for one, _ in others])
    for record, said in others:
        _ask(record, kind, said, reason, by, now, together_with=request)
    return request


def _others_in_tank(
    before: ApplicationRecord, changes: Iterable[Change]
) -> list[tuple[ApplicationRecord, tuple[Change, ...]]]:
    """What the other records of the tank are to say when the spray of one is corrected."""
    spray = of_the_spray(changes)
    others = [refuse_followed(one) for one in beside_in_tank(before)] if spray else []
    said = [with_product_of_load(one, changes_between(facts_of(one), spray)) for one in others]
    return [(one, found) for one, found in zip(others, said, strict=True) if found]


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
    *,
    together_with: CorrectionRequest | None = None,
    beside: Sequence[ApplicationRecord] = (),
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
        together_with=together_with,
        created_at=now,
        created_by=by,
    )
    if together_with is None:
        named = "".join(f" and of record {one.pk} of the same tank" for one in beside)
        sentence = f"{by.full_name} asks for a {kind.label.lower()} of record {record.pk}{named}."
        open_item(branch_id=record.branch_id, code=ASKED, thing=request, sentence=sentence)
    note_event(by=by, act=f"ask_{kind}", thing=request, now=now, record=record.pk)
    return request


def approve(*, request_id: int, by: Person, now: datetime) -> ApplicationRecord:
    """Approve a request, as `approve_all` does; the entry of the record it was asked for."""
    return approve_all(request_id=request_id, by=by, now=now)[0]


@transaction.atomic
def approve_all(*, request_id: int, by: Person, now: datetime) -> tuple[ApplicationRecord, ...]:
    """Approve what somebody else asked for: the correcting entry is stored and judged again.

    Every record of the tank that the request is for, all of them or none, the first asked first.
    Refused: who asked (a one-person firm waits 24 hours and is marked), a request decided before,
    a field that has changed since, a record that was voided, a day in a closed period. Locks:
    request, property, load, lots, frontier.
    """
    require(by, Permission.DECIDE_CORRECTIONS)
    requests = _to_decide(request_id, by)
    is_own = _refuse_own(requests[0], by, now)
    place = _place(requests[0].record)
    befores = [_still_standing(request) for request in requests]
    if len(befores) > 1:
        _lock_tank(befores)
    return tuple(
        _approve(request, before, place, _signed(request, by, now, is_one_person_firm=is_own))
        for request, before in zip(requests, befores, strict=True)
    )


def _still_standing(request: CorrectionRequest) -> ApplicationRecord:
    before = last_entry(request.record)
    if before.entry == EntryKind.VOID:
        raise Refused("voided", "This record was voided meanwhile. Decline the request.")
    refuse_closed(before.applied_on, closed_through(before.branch_id))
    return before


def _lock_tank(befores: Sequence[ApplicationRecord]) -> None:
    """Lock the load and every lot of its products before the first of them moves."""
    first = befores[0]
    key = load_key(first.load_ref)
    if key is None:
        return
    rows = Load.objects.select_for_update(of=("self",), no_key=True)
    load = rows.filter(client_ref=key).first()
    moves = StockMove.objects.filter(record__in=befores)
    if load is not None:
        vehicle = vehicle_at(first.applicator_id, first.finished_at)
        lock_lots_of(load, vehicle, also=moves.values_list("lot", flat=True))


def _approve(
    request: CorrectionRequest, before: ApplicationRecord, place: Property, signed: Signed
) -> ApplicationRecord:
    by = signed.approved_by or signed.by
    _decide(request, CorrectionRequest.State.APPROVED, by, signed.now)
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


def _to_decide(request_id: int, by: Person) -> list[CorrectionRequest]:
    """All that is decided together, locked: of two who decide at once the second is refused."""
    keys = group_of(by, request_id)
    locked = CorrectionRequest.objects.select_for_update(of=("self",))
    found = locked.select_related("record", "created_by").filter(pk__in=keys).order_by("pk")
    requests = list(found)
    if any(one.state != CorrectionRequest.State.ASKED for one in requests):
        raise Refused("decided", "Somebody decided about this before you. Open the list again.")
    return requests


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
    for request in _to_decide(request_id, by):
        _decide(request, CorrectionRequest.State.DECLINED, by, now, reason.strip())
