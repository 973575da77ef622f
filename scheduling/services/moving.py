"""Moving a booked visit to another day, hour or technician, or saying why it cannot move."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from scheduling.models import RouteStop, Shift, Visit
from scheduling.rules.day_words import full_day
from scheduling.rules.visit_states import VISIT_STATE_WORDS, VisitKind, VisitState
from scheduling.selectors.days import WorkDay, work_days
from scheduling.selectors.visits import visit_for
from scheduling.services import booking_checks as checks
from scheduling.services.keepers import keep_keepers
from scheduling.services.places import Wanted, find_place
from scheduling.services.slot_offers import forget_offers

if TYPE_CHECKING:
    from accounts.models import Person

TAKEN = "Somebody changed this day just now. Look at it again and choose another place."


def move_visit(
    *,
    visit_id: int,
    technician_id: int,
    day: date,
    window_opens: time,
    window_closes: time,
    by: Person | None,
    now: datetime,
) -> Visit:
    """Give a booked visit another place; it keeps its renewal, minutes and note.

    Everything that booking asks for is asked again. Refused, and nothing moves: a visit that was
    started or is over, and what `book_visit` refuses.
    """
    require(by, Permission.BOOK_VISITS)
    visit = visit_for(by, visit_id)
    _check_movable(visit)
    wanted = Wanted(visit.property, day, window_opens, window_closes, visit.minutes)
    checks.check_wanted(wanted, now)
    technician = checks.technician_for(technician_id, visit.property)
    checks.check_license(technician, visit.property.state, day)
    _check_opens(visit, day)
    try:
        return _store(visit, technician, wanted, by, now)
    except IntegrityError as error:
        raise Refused("just_taken", TAKEN) from error


def _check_movable(visit: Visit) -> None:
    if visit.state != VisitState.BOOKED:
        word = VISIT_STATE_WORDS[VisitState(visit.state)].lower()
        raise Refused("visit_state", f"This visit is {word}; only a booked visit can be moved.")


def _check_opens(visit: Visit, day: date) -> None:
    renewal = visit.renewal
    if renewal and visit.kind != VisitKind.INSPECTION and day < renewal.opens_on:
        opens = full_day(renewal.opens_on)
        raise Refused(
            "too_early",
            f"The label allows the return from {opens}. Choose {opens} or a later day.",
        )


@transaction.atomic
def _store(
    visit: Visit, technician: Person, wanted: Wanted, by: Person | None, now: datetime
) -> Visit:
    """Moves and bookings of one technician and weekday take turns."""
    turn = Shift.objects.select_for_update().filter(
        technician=technician.pk, weekday=wanted.day.weekday()
    )
    list(turn)
    work = _without(work_days([technician], [wanted.day])[technician.pk, wanted.day], visit)
    checks.check_working(work)
    checks.check_inside_shift(work, wanted)
    starts = find_place(work, wanted, now)
    if isinstance(starts, str):
        name = technician.full_name
        raise Refused("no_place", f"{name}, {full_day(wanted.day)}: {starts}{_stands(work)}")
    before = f"{visit.day}, {visit.technician.full_name}"
    forget_offers(technician_id=visit.technician_id, day=visit.day)
    _set(visit, technician, wanted, starts)
    forget_offers(technician_id=technician.pk, day=wanted.day)
    RouteStop.objects.filter(visit=visit).delete()
    note_event(
        by=by,
        act="move_visit",
        thing=visit,
        now=now,
        before=before,
        after=f"{wanted.day}, {technician.full_name}",
    )
    keep_keepers(visit, now)
    return visit


def _without(work: WorkDay, visit: Visit) -> WorkDay:
    return replace(work, visits=tuple(one for one in work.visits if one.pk != visit.pk))


def _stands(work: WorkDay) -> str:
    """What is planned there, so that a refusal says with what the visit collides."""
    streets = [one.property.street for one in work.planned]
    return f" Planned there: {', '.join(streets)}." if streets else ""


def _set(visit: Visit, technician: Person, wanted: Wanted, starts: datetime) -> None:
    """Compare and set: a visit that was started or moved in between stays."""
    rows = Visit.objects.filter(
        pk=visit.pk, state=VisitState.BOOKED, day=visit.day, technician=visit.technician_id
    )
    moved = rows.update(
        technician=technician,
        day=wanted.day,
        window_opens_at=wanted.opens_at,
        window_closes_at=wanted.closes_at,
        starts_at=starts,
        ends_at=starts + timedelta(minutes=wanted.minutes),
    )
    if not moved:
        raise Refused("visit_state", "Somebody changed this visit just now. Reload the page.")
    visit.refresh_from_db()
