"""Inspecting and closing up at a stop: rows of the first floor together with the visit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from scheduling.models import VisitInspection, VisitTask
from scheduling.models.visits import OPEN_STATES
from scheduling.selectors.reach import own_open_visit, place_in_reach, reachable
from scheduling.selectors.today import own_visit
from sites.rules.findings import NewFinding
from sites.selectors.identifications import identification_at, identification_page
from sites.selectors.inspections import own_open_round
from sites.services.exclusion import end_task
from sites.services.inspections import add_finding, begin_inspection, name_finding
from sites.services.photos import Uploaded

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Finding, Inspection, TaskEnding


@transaction.atomic
def inspect_at_stop(*, visit_id: int, by: Person, now: datetime) -> Inspection:
    """Begin the round of a stop of one's own, or go on with it.

    Refused: a stop that is over and has none; somebody else's stop is Http404.
    """
    require(by, Permission.WORK_STOPS)
    visit = own_visit(by, visit_id)
    made = VisitInspection.objects.filter(visit=visit).select_related("inspection").last()
    if made is not None:
        return made.inspection
    if visit.state not in OPEN_STATES:
        raise Refused("stop_over", "This stop is over. Inspect at the next one.")
    inspection = begin_inspection(
        place=visit.property,
        client_ref=uuid5(visit.ref, "inspection"),
        visit_ref=str(visit.ref),
        by=by,
        now=now,
    )
    VisitInspection.objects.get_or_create(visit=visit, inspection=inspection)
    return inspection


def inspect_property(
    *, property_id: int, client_ref: UUID, by: Person, now: datetime, today: date
) -> Inspection:
    """Begin a round at a property within reach, without a stop; else Http404."""
    place = place_in_reach(by, property_id, today)
    return begin_inspection(place=place, client_ref=client_ref, visit_ref="", by=by, now=now)


def round_of_identification(
    *, identification_id: int, by: Person, now: datetime, today: date
) -> Inspection:
    """The round in which an identification becomes a finding: one's own that is not ended, that of
    the stop one is at, or a new one. A property out of reach is Http404."""
    require(by, Permission.INSPECT)
    place_id = identification_page(by, identification_id).row.property_id
    place = place_in_reach(by, place_id, today)
    begun = own_open_round(by, place.pk)
    if begun is not None:
        return begun
    visit = own_open_visit(by, place.pk, today)
    if visit is not None and not VisitInspection.objects.filter(visit=visit).exists():
        return inspect_at_stop(visit_id=visit.pk, by=by, now=now)
    return begin_inspection(place=place, client_ref=uuid4(), visit_ref="", by=by, now=now)


@transaction.atomic
def add_finding_here(
    *,
    new: NewFinding,
    photos: Sequence[Uploaded],
    identified: str,
    by: Person,
    now: datetime,
    today: date,
) -> Finding:
    """Add a finding as `add_finding` does, with the identification that the address names."""
    within = reachable(by, today)
    made = add_finding(within=within, new=new, photos=photos, by=by, now=now)
    row = identification_at(made.inspection.property_id, identified)
    if row is not None:
        name_finding(within=within, finding_id=made.pk, identification=row, by=by)
    return made


@transaction.atomic
def end_task_here(
    *,
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
    """End a task as `end_task` does; at a stop of one's own of today the visit is kept with it."""
    ending = end_task(
        within=reachable(by, today),
        task_id=task_id,
        client_ref=client_ref,
        kind=kind,
        inside=inside,
        words=words,
        photos=photos,
        by=by,
        now=now,
        today=today,
    )
    visit = own_open_visit(by, ending.task.finding.inspection.property_id, today)
    if visit is not None:
        VisitTask.objects.get_or_create(task=ending.task, defaults={"visit": visit})
    return ending
