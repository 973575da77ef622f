"""Reporting an incident, completing it, telling the agency, closing it: rows that only add."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import clock, short_day
from accounts.rules.lines import line, paragraph
from accounts.selectors.people import person_for
from accounts.services.audit import close_items, note_event, open_item, open_item_once
from treatments.models import Incident, IncidentAddendum, IncidentPersonalValue, IncidentRecord
from treatments.rules.incident_clocks import clock_of
from treatments.rules.incidents import (
    LONGEST_REASON,
    LONGEST_WORDS,
    AddendumKind,
    IncidentKind,
    NewIncident,
    NewNotice,
    amount_words,
    digest_of,
    personal_values,
    refuse_incident,
    refuse_notice,
    salted_digest,
)
from treatments.rules.leaves import INCIDENT, INCIDENT_ADDENDUM, SALT_BYTES
from treatments.selectors.incident_leaves import addendum_payload, incident_payload
from treatments.selectors.incidents import Concerned, concerned, incident_for, overdue
from treatments.services.holds import hold_for_incident, release_for_incident
from treatments.services.log import append_leaf

if TYPE_CHECKING:
    from accounts.models import Person

FORM = "form"  # the personal value that only keeps the salt of the report's digest
NOTICE_CODE, LATE_CODE = "incident_notice", "incident_notice_late"


def report_incident(*, incident: NewIncident, by: Person, now: datetime) -> Incident:
    """Keep what was reported, start the clock of the agency notice, hold the records concerned.

    Refused: what cannot be true, records of another place, a reference that names another report.
    The same report again is a replay. The caller has seen to it that property and vehicle may be
    named.
    """
    require(by, Permission.REPORT_INCIDENTS)
    refuse_incident(incident, now=now)
    try:
        with transaction.atomic():
            return _replayed(incident) or _report(incident, by, now)
    except IntegrityError:
        # the same report at the same moment: the other one was first
        first = _replayed(incident)
        if first is None:
            raise
        return first


def _report(incident: NewIncident, by: Person, now: datetime) -> Incident:
    about = concerned(incident, by)
    row = _stored(incident, about, by, now)
    hold_for_incident(row, by, now)
    _ask_for_notice(row, about)
    note_event(by=by, act="report_incident", thing=row, now=now, kind=row.kind)
    append_leaf(
        branch_id=row.branch_id,
        kind=INCIDENT,
        payload=incident_payload(row),
        record=None,
        by=by,
        now=now,
    )
    return row


def _replayed(incident: NewIncident) -> Incident | None:
    row = Incident.objects.filter(client_ref=incident.client_ref).first()
    if row is not None and not _is_same(row, incident):
        raise Refused(
            "reused_reference", "This form was sent before with other words. Open it again."
        )
    return row


def _is_same(row: Incident, incident: NewIncident) -> bool:
    """Whether a report is the one that is stored; once its salt is forgotten nobody can tell."""
    said = row.personal_values.filter(field=FORM).first()
    if said is None:
        return row.client_digest == digest_of(incident)  # as reports before salts were kept
    return row.client_digest == salted_digest(digest_of(incident), bytes(said.salt))


def _stored(incident: NewIncident, about: Concerned, by: Person, now: datetime) -> Incident:
    kind = IncidentKind(incident.kind)
    rule = clock_of(kind, about.state, incident.happened_at.astimezone(about.zone))
    label, has_amount = about.label_version, amount_words(incident.amount) and incident.amount
    salt = _salt()
    row = Incident.objects.create(
        client_ref=incident.client_ref,
        client_digest=salted_digest(digest_of(incident), salt),
        branch=about.branch,
        state=about.state,
        kind=kind,
        happened_at=incident.happened_at,
        property=about.place,
        vehicle=about.vehicle,
        visit_ref=incident.visit_ref,
        label_version=label,
        product_name=label.product.name if label else "",
        registration_number=label.product.registration_number if label else "",
        amount=has_amount.text.strip() if has_amount else "",
        amount_unit=has_amount.unit if has_amount else "",
        done=list(incident.done),
        care=incident.care,
        notice_rule=rule.code,
        notice_hours=rule.hours,
        notice_due_at=rule.due_at,
        notice_sentence=rule.sentence,
        notice_clause=rule.clause,
        created_by=by,
        created_at=now,
    )
    IncidentRecord.objects.bulk_create(
        IncidentRecord(incident=row, record=record) for record in about.records
    )
    IncidentPersonalValue.objects.bulk_create(
        IncidentPersonalValue(incident=row, field=field, value=value, salt=_salt())
        for field, value in personal_values(incident).items()
    )
    IncidentPersonalValue.objects.create(incident=row, field=FORM, value="", salt=salt)
    return row


def _salt() -> bytes:
    return secrets.token_bytes(SALT_BYTES)


def _ask_for_notice(row: Incident, about: Concerned) -> None:
    """Check A20: open until the notice is given, with the moment it is due."""
    due = row.notice_due_at.astimezone(about.zone) if row.notice_due_at else None
    until = f" Due by {short_day(due.date(), True)}, {clock(due)}." if due else ""
    source = f" ({row.notice_clause})" if row.notice_clause else ""
    open_item(
        branch_id=row.branch_id,
        code=NOTICE_CODE,
        thing=row,
        sentence=f"{row}: {row.notice_sentence}{until}{source}",
    )


@transaction.atomic
def add_to_incident(
    *, incident_id: int, client_ref: UUID, words: str, by: Person, now: datetime
) -> IncidentAddendum:
    """Add what became known later; what stood before stays.

    Refused: no words, an incident of somebody else's branch (404).
    """
    require(by, Permission.REPORT_INCIDENTS)
    incident = incident_for(by, incident_id)
    return _added(incident, AddendumKind.ADDITION, client_ref, words, by, now)


@transaction.atomic
def give_notice(
    *, incident_id: int, notice: NewNotice, by: Person, now: datetime
) -> IncidentAddendum:
    """Say that an agency was told; the open item closes, a late notice stays flagged.

    Refused: no agency, a time to come or before the incident, a person of another branch.
    """
    require(by, Permission.EDIT_INCIDENTS)
    incident = incident_for(by, incident_id)
    refuse_notice(notice, happened_at=incident.happened_at, now=now)
    given_by = person_for(by, notice.given_by_id)
    row = _entry(
        incident,
        AddendumKind.NOTICE,
        notice.client_ref,
        by,
        now,
        words=paragraph(notice.words, field="words", label="Words", most=LONGEST_WORDS),
        agency=line(notice.agency, field="agency", label="Agency", most=120),
        way=notice.way,
        given_at=notice.given_at,
        given_by=given_by,
        reference=line(
            notice.reference, field="reference", label="Reference", most=60, needed=False
        ),
    )
    close_items(code=NOTICE_CODE, thing=incident, note=f"{row.agency} was told.", now=now)
    if incident.notice_due_at and notice.given_at > incident.notice_due_at:
        _flag_late(incident)
    return row


@transaction.atomic
def close_incident(
    *, incident_id: int, client_ref: UUID, words: str, by: Person, now: datetime
) -> IncidentAddendum:
    """Close an incident with what came of it; its records are held no longer.

    Refused: no words, one that is closed, one whose agency must still be told.
    """
    require(by, Permission.EDIT_INCIDENTS)
    incident = incident_for(by, incident_id)
    if incident.is_closed:
        raise Refused("closed", "This incident is closed already.")
    if incident.notice_due_at and not incident.notices:
        raise Refused(
            "no_notice",
            f"The agency was not told yet ({incident.notice_clause}). Record the notice first.",
        )
    row = _added(incident, AddendumKind.CLOSING, client_ref, words, by, now)
    release_for_incident(incident, by, now)
    note = "The incident was closed without a notice."
    close_items(code=NOTICE_CODE, thing=incident, note=note, now=now)
    return row


@transaction.atomic
def reopen_incident(
    *, incident_id: int, client_ref: UUID, words: str, by: Person, now: datetime
) -> IncidentAddendum:
    """Open a closed incident again with the reason; its records are held again.

    Refused: no words, one that is open.
    """
    require(by, Permission.EDIT_INCIDENTS)
    incident = incident_for(by, incident_id)
    if not incident.is_closed:
        raise Refused("open", "This incident is open already.")
    hold_for_incident(incident, by, now)
    return _added(incident, AddendumKind.REOPENING, client_ref, words, by, now)


def flag_late_notices(*, now: datetime) -> int:
    """Make every clock that ran out without a notice a matter of its own; how many there are."""
    late = overdue(now)
    for incident in late:
        _flag_late(incident)
    return len(late)


def _flag_late(incident: Incident) -> None:
    zone = ZoneInfo(incident.branch.time_zone)
    due = incident.notice_due_at.astimezone(zone) if incident.notice_due_at else None
    until = f"{short_day(due.date(), True)}, {clock(due)}" if due else ""
    open_item_once(
        branch_id=incident.branch_id,
        code=LATE_CODE,
        thing=incident,
        sentence=f"{incident}: no notice was given by {until} ({incident.notice_clause}). "
        "Tell the agency now and write down why it is late.",
    )


def _added(
    incident: Incident, kind: AddendumKind, client_ref: UUID, words: str, by: Person, now: datetime
) -> IncidentAddendum:
    text = paragraph(words, field="words", label="Words", most=LONGEST_REASON)
    if not text:
        raise Refused("missing", "Write what is to be kept.", field="words")
    return _entry(incident, kind, client_ref, by, now, words=text)


def _entry(
    incident: Incident,
    kind: AddendumKind,
    client_ref: UUID,
    by: Person,
    now: datetime,
    **columns: object,
) -> IncidentAddendum:
    """One later entry with its leaf; the same reference again is a replay."""
    first = IncidentAddendum.objects.filter(client_ref=client_ref, incident=incident).first()
    if first is not None:
        return first
    row = IncidentAddendum.objects.create(
        client_ref=client_ref,
        incident=incident,
        kind=kind,
        salt=_salt(),
        created_by=by,
        created_at=now,
        **columns,
    )
    note_event(by=by, act=f"incident_{kind}", thing=incident, now=now, entry=row.pk)
    append_leaf(
        branch_id=incident.branch_id,
        kind=INCIDENT_ADDENDUM,
        payload=addendum_payload(row),
        record=None,
        by=by,
        now=now,
    )
    return row
