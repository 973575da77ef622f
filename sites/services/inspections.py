"""Inspecting a property: begin, answer checkpoints, add findings, end; close a finding later.

`within` are the properties `by` may reach; the roof knows which.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, TypeVar
from uuid import UUID

from django.db import IntegrityError, models, transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of, paragraph
from accounts.services.audit import note_event, open_item
from sites.models import (
    CheckpointAnswer,
    Finding,
    FindingClosing,
    Inspection,
    InspectionEnding,
    InspectionReport,
    Pest,
    Property,
)
from sites.rules.checkpoints import BY_CODE
from sites.rules.findings import (
    CLOSING_WORDS,
    LONGEST_NOTE,
    REFER_WOOD,
    NewFinding,
    gap_of,
    refuse_finding,
)
from sites.rules.item_kinds import FINDING_REFERRED
from sites.selectors.inspections import finding_for, findings_of, inspection_for, looked_at
from sites.services.locks import lock_property
from sites.services.photos import Uploaded, keep_photos, read_photos

if TYPE_CHECKING:
    from accounts.models import Person

Row = TypeVar("Row", bound=models.Model)


def once(find: Callable[[], Row | None], make: Callable[[], Row]) -> Row:
    """The row that the same form made before, or the one it makes now, in one transaction."""
    try:
        with transaction.atomic():
            return find() or make()
    except IntegrityError:
        # the same form at the same moment: the other one was first
        first = find()
        if first is None:
            raise
        return first


def same_form(row: Row | None, digest: str) -> Row | None:
    """Refuse a form's number that came before with other words."""
    if row is not None and row.client_digest != digest:  # type: ignore[attr-defined]
        sentence = "This form was sent before with other words. Open it again."
        raise Refused("reused_reference", sentence)
    return row


def begin_inspection(
    *, place: Property, client_ref: UUID, visit_ref: str, by: Person, now: datetime
) -> Inspection:
    """Begin a round at a property the caller has authorized; sent twice it is one round.

    At a visit there is one round that is not ended: it is gone on with.
    """
    require(by, Permission.INSPECT)

    def find() -> Inspection | None:
        rows = Inspection.objects.filter(property=place)
        same = rows.filter(client_ref=client_ref).first()
        unended = rows.filter(visit_ref=visit_ref, ending=None) if visit_ref else rows.none()
        return same or unended.first()

    def make() -> Inspection:
        made = Inspection.objects.create(
            client_ref=client_ref, property=place, visit_ref=visit_ref, begun_at=now, created_by=by
        )
        note_event(by=by, act="begin_inspection", thing=made, now=now)
        return made

    return once(find, make)


@transaction.atomic
def answer_checkpoints(
    *, within: QuerySet[Property], inspection_id: int, checkpoints: Collection[str], by: Person
) -> int:
    """Say of checkpoints that they were looked at and nothing was found; how many are new.

    Refused: none named, one that is on no list, a round that is ended.
    """
    require(by, Permission.INSPECT)
    inspection = _open_round(within, inspection_id)
    if not checkpoints or not set(checkpoints) <= set(BY_CODE):
        raise Refused("checkpoints", "Tick what you looked at.", field="checkpoints")
    known = looked_at(inspection, findings_of(inspection.pk))
    new = [code for code in BY_CODE if code in checkpoints and code not in known]
    CheckpointAnswer.objects.bulk_create(
        CheckpointAnswer(inspection=inspection, checkpoint=code, created_by=by) for code in new
    )
    return len(new)


def _open_round(within: QuerySet[Property], inspection_id: int) -> Inspection:
    """The round, still open; whoever answers, adds and ends waits for each other."""
    inspection = inspection_for(within, inspection_id)
    lock_property(inspection.property_id)
    if InspectionEnding.objects.filter(inspection=inspection).exists():
        raise Refused("ended", "This inspection is ended. Begin another one.")
    return inspection


def add_finding(
    *,
    within: QuerySet[Property],
    new: NewFinding,
    photos: Sequence[Uploaded],
    by: Person,
    now: datetime,
) -> Finding:
    """Keep what was found, with its photos; the same form again is one finding.

    A pest that is for a specialist opens an item. Refused: what says too little, a gap that is
    none, a photo that is none, a round that is ended; a property out of reach is Http404.
    """
    require(by, Permission.INSPECT)
    inspection = inspection_for(within, new.inspection_id)
    refuse_finding(new)
    read = read_photos(photos)

    def make() -> Finding:
        _open_round(within, inspection.pk)
        made = _stored(new, by, now)
        keep_photos(read, place=inspection.property, finding=made, by=by)
        _refer(made, inspection)
        note_event(by=by, act="add_finding", thing=made, now=now, kind=made.kind)
        return made

    return once(lambda: _replayed(new), make)


def _replayed(new: NewFinding) -> Finding | None:
    return same_form(Finding.objects.filter(client_ref=new.client_ref).first(), new.digest)


def _stored(new: NewFinding, by: Person, now: datetime) -> Finding:
    gap = gap_of(new)
    return Finding.objects.create(
        client_ref=new.client_ref,
        client_digest=new.digest,
        inspection_id=new.inspection_id,
        checkpoint=new.checkpoint,
        kind=new.kind,
        severity=new.severity,
        spot=line(new.where, field="where", label="Where", most=120, needed=False),
        pest=_pest(new.pest_id),
        condition=new.condition,
        gap_shape=gap.shape if gap else "",
        gap_text=gap.text if gap else "",
        gap_nm=gap.nm if gap else None,
        opening=new.opening,
        note=paragraph(new.note, field="note", label="Note", most=LONGEST_NOTE),
        created_by=by,
        created_at=now,
    )


def _pest(pest_id: int | None) -> Pest | None:
    if pest_id is None:
        return None
    pest = Pest.objects.filter(pk=pest_id).first()
    if pest is None:
        raise Refused("choice", "Choose the pest from the list.", field="pest")
    return pest


def _refer(finding: Finding, inspection: Inspection) -> None:
    if finding.pest and finding.pest.kind == Pest.Kind.REFER:
        place = inspection.property
        open_item(
            branch_id=place.branch_id,
            code=FINDING_REFERRED,
            thing=finding,
            sentence=f"{place}: {finding}. {REFER_WOOD}",
        )


@transaction.atomic
def end_inspection(
    *, within: QuerySet[Property], inspection_id: int, words: str, by: Person, now: datetime
) -> InspectionEnding:
    """End a round; without a finding the whole of it says that nothing was found.

    Refused: a round without any answer (nothing was inspected), one that is ended.
    """
    require(by, Permission.INSPECT)
    inspection = _open_round(within, inspection_id)
    findings = findings_of(inspection.pk)
    if not looked_at(inspection, findings):
        sentence = "No checkpoint is answered yet. Tick what you looked at, or add a finding."
        raise Refused("empty_checklist", sentence)
    ending = InspectionEnding.objects.create(
        inspection=inspection,
        ended_at=now,
        is_nothing_found=not findings,
        words=paragraph(words, field="words", label="Summary", most=LONGEST_NOTE),
        created_by=by,
    )
    note_event(by=by, act="end_inspection", thing=inspection, now=now, findings=len(findings))
    return ending


@transaction.atomic
def close_finding(
    *,
    within: QuerySet[Property],
    finding_id: int,
    kind: str,
    words: str,
    by: Person,
    now: datetime,
) -> FindingClosing:
    """Say what became of a finding, once.

    Refused: one that is closed, an unknown ending, one whose task is still open.
    """
    require(by, Permission.INSPECT)
    lock_property(finding_for(within, finding_id).inspection.property_id)
    finding = finding_for(within, finding_id)
    if hasattr(finding, "closing"):
        raise Refused("closed", f"This finding is closed: {finding.closing}.")
    if any(not hasattr(task, "ending") for task in finding.tasks.all()):
        raise Refused("open_task", "A task about it is open. End the task first.")
    closing = FindingClosing.objects.create(
        finding=finding,
        kind=one_of(kind, list(CLOSING_WORDS), field="kind", label="What became of it"),
        closed_at=now,
        words=line(words, field="words", label="Words", most=300, needed=False),
        created_by=by,
    )
    note_event(by=by, act="close_finding", thing=finding, now=now, kind=kind)
    return closing


@transaction.atomic
def keep_report(*, inspection: Inspection, content: bytes, by: Person) -> InspectionReport:
    """Keep a report as it was made; the same bytes again are the report that is there."""
    require(by, Permission.INSPECT)
    digest = sha256(content).hexdigest()
    same = InspectionReport.objects.filter(inspection=inspection, sha256=digest).first()
    if same is not None:
        return same
    made = InspectionReport.objects.create(
        inspection=inspection, content=content, size=len(content), sha256=digest, created_by=by
    )
    note_event(by=by, act="inspection_report", thing=made, sha256=digest)
    return made
