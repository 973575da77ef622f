"""Plan, reviews and corrective actions of a property: each a row of its own, never changed."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of, paragraph
from accounts.selectors.pages import local_day
from accounts.services.audit import close_items, note_event
from sites.models import (
    CorrectiveAction,
    CorrectiveStep,
    ManagementPlan,
    SiteReview,
)
from sites.selectors.logbook import action_for, plans_of
from sites.selectors.properties import property_for
from sites.services.locks import lock_property
from sites.services.reviews import REVIEW_DUE, REVIEWED

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def write_plan(
    *, property_id: int, text: str, written_by: str, written_on: date, by: Person, now: datetime
) -> ManagementPlan:
    """Keep another version of the plan. Refused: nothing written, nobody named, a day to come."""
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    lock_property(place.pk)
    _refuse_future(written_on, place.branch.time_zone, now, "written_on")
    before = plans_of(place.pk).first()
    made = ManagementPlan.objects.create(
        property=place,
        version=before.version + 1 if before else 1,
        text=_needed(text, "text", "The plan", 20_000),
        written_on=written_on,
        written_by=line(written_by, field="written_by", label="Written by", most=120),
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="plan_written", thing=place, now=now, version=made.version)
    return made


@transaction.atomic
def note_review(
    *,
    property_id: int,
    reviewed_on: date,
    reviewed_by: str,
    notes: str,
    next_due: date,
    by: Person,
    now: datetime,
) -> SiteReview:
    """Keep a review and close the item that it was due.

    Refused: no notes, nobody named, a day to come, a next one that is not after it.
    """
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    _refuse_future(reviewed_on, place.branch.time_zone, now, "reviewed_on")
    if next_due <= reviewed_on:
        raise Refused("day", "Choose a day after this review.", field="next_due")
    made = SiteReview.objects.create(
        property=place,
        reviewed_on=reviewed_on,
        reviewed_by=line(reviewed_by, field="reviewed_by", label="Who reviewed", most=200),
        notes=_needed(notes, "notes", "What was found", 4000),
        next_due=next_due,
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="site_reviewed", thing=place, now=now, next_due=next_due.isoformat())
    if next_due > local_day(place.branch.time_zone, now):
        close_items(code=REVIEW_DUE, thing=place, note=REVIEWED, now=now)
    return made


@transaction.atomic
def ask_action(
    *,
    property_id: int,
    what: str,
    spot: str,
    side: str,
    asked_on: date,
    due_on: date | None,
    by: Person,
    now: datetime,
) -> CorrectiveAction:
    """Note what must be put right. Refused: nothing to do, nowhere, due before it was asked."""
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    _refuse_future(asked_on, place.branch.time_zone, now, "asked_on")
    if due_on is not None and due_on < asked_on:
        raise Refused("day", "It cannot be due before it was asked for.", field="due_on")
    sides = CorrectiveAction.Side.values
    made = CorrectiveAction.objects.create(
        property=place,
        what=line(what, field="what", label="What must be put right", most=300),
        spot=line(spot, field="spot", label="Where", most=160),
        side=one_of(side, sides, field="side", label="Who puts it right"),
        asked_on=asked_on,
        due_on=due_on,
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="action_asked", thing=place, now=now, action=made.pk)
    return made


@transaction.atomic
def note_step(
    *, action_id: int, note: str, done_on: date, is_done: bool, by: Person, now: datetime
) -> CorrectiveStep:
    """Note what was done about a corrective action. Refused: no note, a day to come."""
    require(by, Permission.EDIT_PROPERTIES)
    action = action_for(by, action_id)
    _refuse_future(done_on, action.property.branch.time_zone, now, "done_on")
    made = CorrectiveStep.objects.create(
        action=action,
        note=line(note, field="note", label="What was done", most=300),
        done_on=done_on,
        is_done=is_done,
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="action_step", thing=action, now=now, is_done=is_done)
    return made


def _refuse_future(day: date, time_zone: str, now: datetime, field: str) -> None:
    if day > local_day(time_zone, now):
        raise Refused("day", "This day is still to come.", field=field)


def _needed(text: str, field: str, label: str, most: int) -> str:
    kept = paragraph(text, field=field, label=label, most=most)
    if not kept:
        raise Refused("missing", f"{label} is missing. Type it.", field=field)
    return kept
