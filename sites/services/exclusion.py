"""Exclusion tasks and zones from findings: one step from what was found to what is done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.lines import line, one_of
from accounts.services.audit import close_items, note_event, open_item
from sites.models import (
    ExclusionTask,
    Finding,
    FindingClosing,
    FindingZone,
    Property,
    TaskEnding,
    TreatableZone,
)
from sites.rules.entries import NewZone
from sites.rules.exclusion import ENDING_WORDS, EndingKind, NewTask, refuse_task
from sites.rules.findings import ClosingKind
from sites.rules.item_kinds import CUSTOMER_TASK, TASK_REFERRED
from sites.rules.sealing import INSIDE_WORDS, REFERRED, Inside, refuse_closing, refuse_measure
from sites.selectors.exclusion import task_for
from sites.selectors.inspections import finding_for
from sites.services.inspections import once, same_form
from sites.services.locks import lock_property
from sites.services.photos import Uploaded, keep_photos, read_photos
from sites.services.zones import enter_zone

if TYPE_CHECKING:
    from accounts.models import Person


def add_task(*, within: QuerySet[Property], new: NewTask, by: Person, today: date) -> ExclusionTask:
    """Put a task to a finding; one of the customer opens an item to be chased.

    Refused: closing what must stay open, a closed finding, a day that is over; a finding out of
    reach is Http404.
    """
    require(by, Permission.INSPECT)
    finding = finding_for(within, new.finding_id)
    refuse_measure(new.measure, finding.opening)
    refuse_task(new, today)

    def make() -> ExclusionTask:
        lock_property(finding.inspection.property_id)
        if FindingClosing.objects.filter(finding=finding).exists():
            raise Refused("closed", "This finding is closed. Add another one first.")
        made = _stored(finding, new, by)
        if made.is_customers:
            _chase(made)
        note_event(by=by, act="add_task", thing=made, measure=made.measure, does=made.does)
        return made

    def find() -> ExclusionTask | None:
        row = ExclusionTask.objects.filter(client_ref=new.client_ref).first()
        return same_form(row, new.digest)

    return once(find, make)


def _stored(finding: Finding, new: NewTask, by: Person) -> ExclusionTask:
    return ExclusionTask.objects.create(
        client_ref=new.client_ref,
        client_digest=new.digest,
        finding=finding,
        measure=new.measure,
        material=new.material,
        does=new.does,
        price=new.price,
        due_on=new.due_on,
        words=line(new.words, field="words", label="Words", most=300, needed=False),
        created_by=by,
    )


def _chase(task: ExclusionTask) -> None:
    place = task.finding.inspection.property
    due = short_day(task.due_on, True)
    open_item(
        branch_id=place.branch_id,
        code=CUSTOMER_TASK,
        thing=task,
        sentence=f"{place}, for {place.customer.name} to do by {due}: {task}. Ask whether it is "
        "done.",
    )


def end_task(
    *,
    within: QuerySet[Property],
    task_id: int,
    client_ref: UUID,
    kind: str,
    inside: str,
    words: str,
    photos: Sequence[Uploaded],
    by: Person,
    now: datetime,
    today: date,
) -> TaskEnding:
    """End a task as done, referred or withdrawn, with photos; done closes its finding too.

    Refused: calling it done where animals may be inside and nobody looked, or where they are; a
    withdrawal without a reason; a task that is ended.
    """
    require(by, Permission.INSPECT)
    task = task_for(within, task_id)
    one_of(kind, list(ENDING_WORDS), field="kind", label="How it ends")
    _refuse_ending(task, kind, inside, words)
    read = read_photos(photos)

    def make() -> TaskEnding:
        lock_property(task.finding.inspection.property_id)
        if TaskEnding.objects.filter(task=task).exists():
            raise Refused("ended", "This task is ended already.")
        made = TaskEnding.objects.create(
            client_ref=client_ref,
            task=task,
            kind=kind,
            ended_on=today,
            inside=inside,
            words=line(words, field="words", label="Words", most=300, needed=False),
            created_by=by,
        )
        keep_photos(read, place=task.finding.inspection.property, task_ending=made, by=by)
        _follow(task, made, by, now)
        return made

    return once(
        lambda: TaskEnding.objects.filter(client_ref=client_ref, task=task, kind=kind).first(),
        make,
    )


def _refuse_ending(task: ExclusionTask, kind: str, inside: str, words: str) -> None:
    if inside and inside not in INSIDE_WORDS:
        raise Refused("choice", "Choose the answer from the list.", field="inside")
    # a bat or a bird that was seen is not closed in, wherever it is
    if kind == EndingKind.DONE and (task.asks_for_animals or inside in (*REFERRED, Inside.OTHER)):
        refuse_closing(inside)
    if kind == EndingKind.WITHDRAWN and not words.strip():
        raise Refused("missing", "Say why it is withdrawn.", field="words")


def _follow(task: ExclusionTask, ending: TaskEnding, by: Person, now: datetime) -> None:
    """What an ending brings with it: items opened and closed, the finding closed."""
    close_items(code=CUSTOMER_TASK, thing=task, note=f"The task ended: {ending}.", now=now)
    if ending.kind == EndingKind.REFERRED:
        place = task.finding.inspection.property
        open_item(
            branch_id=place.branch_id,
            code=TASK_REFERRED,
            thing=task,
            sentence=f"{place}: {task}. Refer it to a licensed wildlife specialist before it is "
            "closed.",
        )
    if ending.kind == EndingKind.DONE:
        _close_when_last(task, by, now)
    note_event(by=by, act="end_task", thing=task, now=now, kind=ending.kind)


def _close_when_last(task: ExclusionTask, by: Person, now: datetime) -> None:
    still = ExclusionTask.objects.filter(finding=task.finding, ending=None)
    closed = FindingClosing.objects.filter(finding=task.finding)
    if not still.exists() and not closed.exists():
        FindingClosing.objects.create(
            finding=task.finding, kind=ClosingKind.FIXED, closed_at=now, created_by=by
        )


@transaction.atomic
def zone_from_finding(
    *, within: QuerySet[Property], finding_id: int, zone: NewZone, by: Person
) -> TreatableZone:
    """Enter a treatable zone from what was found, with the way back to it.

    A technician may, at a property within reach. Refused as `add_zone` refuses.
    """
    require(by, Permission.INSPECT)
    finding = finding_for(within, finding_id)
    if zone.property_id != finding.inspection.property_id:
        raise Refused("other_property", "The zone is of another property. Open the finding again.")
    made = enter_zone(zone, by)
    FindingZone.objects.create(finding=finding, zone=made, created_by=by)
    note_event(by=by, act="zone_from_finding", thing=made, finding=finding.pk)
    return made
