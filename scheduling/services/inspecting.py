"""Inspecting and closing up at a stop: rows of the first floor together with the visit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from scheduling.models import VisitInspection, VisitTask
from scheduling.models.visits import OPEN_STATES
from scheduling.reports.inspection import draw_inspection
from scheduling.selectors.inspection_sheets import inspection_sheet
from scheduling.selectors.property_plans import plan_on_paper
from scheduling.selectors.reach import own_open_visit, place_in_reach, reachable
from scheduling.selectors.today import own_visit
from sites.selectors.inspections import findings_of
from sites.services.exclusion import end_task
from sites.services.inspections import begin_inspection, keep_report
from sites.services.photos import Uploaded

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Inspection, InspectionReport, TaskEnding


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


def report_inspection(
    *,
    inspection_id: int,
    by: Person,
    now: datetime,
    today: date,
    demo: bool,
) -> InspectionReport:
    """Draw the report of an ended inspection and keep it with its digest.

    The plan stands on it where the property has a sheet of walls. Refused: a round that is not
    ended.
    """
    require(by, Permission.INSPECT)
    inspection, sheet = inspection_sheet(by, inspection_id, today, demo=demo)
    plan = plan_on_paper(inspection.property, findings_of(inspection.pk), today)
    content = draw_inspection(sheet, plan=plan)
    return keep_report(inspection=inspection, content=content, by=by)
