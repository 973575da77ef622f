"""Booking a visit: everything checked, a place found, and stored as one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from scheduling.models import Renewal, Shift, Visit
from scheduling.models.renewals import WAITING_STATES
from scheduling.rules.day_words import full_day
from scheduling.rules.visit_states import RENEWAL_STATE_WORDS, RenewalState, VisitKind, Work
from scheduling.selectors.days import work_days
from scheduling.services import booking_checks as checks
from scheduling.services.keepers import keep_keepers
from scheduling.services.places import Wanted, find_place, next_places
from scheduling.services.slot_offers import forget_offers
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property

TAKEN = "Somebody booked this place just now. Look at the day again and choose another."


@dataclass(frozen=True)
class _Booking:
    """One booking as it is asked for, checked except for the place."""

    wanted: Wanted
    technician: Person
    kind: VisitKind
    renewal: Renewal | None
    note: str


def book_visit(
    *,
    technician_id: int,
    day: date,
    window_opens: time,
    window_closes: time,
    minutes: int,
    kind: VisitKind = VisitKind.RENEWAL,
    renewal_id: int | None = None,
    property_id: int | None = None,
    note: str = "",
    by: Person | None,
    now: datetime,
) -> Visit:
    """Book a visit for a renewal or at a property, at the cheapest place of the planned day.

    Hours are the wall clock of the property's branch, `minutes` the work on site. The work begins
    inside the window and moves no other visit. Refused, with what to do: hours or minutes that
    cannot be meant, a technician who may not or does not work then, a renewal that is not waiting,
    a day before the label allows the return, no place (with the next three days as `choices`), a
    place somebody took in between.
    """
    require(by, Permission.BOOK_VISITS)
    renewal, place = _target(by, renewal_id, property_id)
    checks.check_account(place)
    wanted = Wanted(place, day, window_opens, window_closes, minutes)
    checks.check_wanted(wanted, now)
    technician = checks.technician_for(technician_id, place)
    checks.check_license(technician, place.state, day)
    if renewal is not None and renewal.work != Work.TREAT:
        kind = VisitKind.INSPECTION  # nothing is put down: the label's interval asks nothing
    else:
        _check_interval(renewal, day)
    booking = _Booking(wanted, technician, kind, renewal, note.strip()[:300])
    try:
        return _store(booking, by, now)
    except Refused as refused:
        if refused.code != "no_place":
            raise
        may_work = checks.license_check(technician, place.state)
        choices = next_places(technician, wanted, now, may_work)
        raise _no_place(refused.sentence, booking, choices) from refused


def _target(
    by: Person | None, renewal_id: int | None, property_id: int | None
) -> tuple[Renewal | None, Property]:
    if renewal_id is None:
        return None, _seen(by, _property(property_id))
    rows = Renewal.objects.select_related("property__branch", "property__customer")
    renewal = rows.filter(pk=renewal_id).first()
    return renewal, _seen(by, renewal.property if renewal else None)


def _property(property_id: int | None) -> Property | None:
    with transaction.atomic():
        return lock_property(property_id) if property_id is not None else None


def _seen(by: Person | None, place: Property | None) -> Property:
    if place is None or not branches_for(by).filter(pk=place.branch_id).exists():
        raise Http404("No such property.")
    return place


def _check_interval(renewal: Renewal | None, day: date) -> None:
    if renewal is not None and day < renewal.opens_on:
        opens = full_day(renewal.opens_on)
        raise Refused(
            "too_early",
            f"This renewal opens on {opens}. Choose {opens} or a later day.",
            opens_on=renewal.opens_on,
        )


def _no_place(why: str, booking: _Booking, choices: tuple[object, ...]) -> Refused:
    what_to_do = (
        "Choose one of the next days with a place, another window or another technician."
        if choices
        else "Choose another window or another technician."
    )
    name, day = booking.technician.full_name, full_day(booking.wanted.day)
    return Refused("no_place", f"{name}, {day}: {why} {what_to_do}", choices=choices)


@transaction.atomic
def _store(booking: _Booking, by: Person | None, now: datetime) -> Visit:
    """Book all or nothing; bookings of one technician and weekday take turns."""
    technician, wanted = booking.technician, booking.wanted
    turn = Shift.objects.select_for_update().filter(
        technician=technician.pk, weekday=wanted.day.weekday()
    )
    list(turn)
    work = work_days([technician], [wanted.day])[technician.pk, wanted.day]
    checks.check_working(work)
    checks.check_inside_shift(work, wanted)
    _take_renewal(booking.renewal)
    starts = find_place(work, wanted, now)
    if isinstance(starts, str):
        raise Refused("no_place", starts)
    visit = _create(booking, starts, by, now)
    note_event(
        by=by,
        act="book_visit",
        thing=visit,
        now=now,
        technician=technician.full_name,
        day=str(visit.day),
        renewal=booking.renewal.pk if booking.renewal else None,
    )
    forget_offers(technician_id=visit.technician_id, day=visit.day)
    keep_keepers(visit, now)
    return visit


def _take_renewal(renewal: Renewal | None) -> None:
    """Compare and set: of two who book one renewal, one does."""
    if renewal is None:
        return
    waiting = Renewal.objects.filter(pk=renewal.pk, state__in=WAITING_STATES)
    if waiting.update(state=RenewalState.BOOKED):
        renewal.state = RenewalState.BOOKED
        return
    state = RenewalState(Renewal.objects.values_list("state", flat=True).get(pk=renewal.pk))
    if state == RenewalState.BOOKED:
        raise Refused("just_taken", _who_was_faster(renewal))
    word = RENEWAL_STATE_WORDS[state].lower()
    raise Refused(
        "renewal_state", f"This renewal is {word} and cannot be booked. Reload the page to see it."
    )


def _who_was_faster(renewal: Renewal) -> str:
    visit = (
        Visit.objects.open()
        .filter(renewal=renewal)
        .select_related("created_by", "technician")
        .first()
    )
    if visit is None:
        return "This renewal is booked already. Open it to see the visit."
    who = visit.created_by.full_name if visit.created_by else "the system"
    return (
        f"{who} booked this renewal already, for {full_day(visit.day)} with "
        f"{visit.technician.full_name}. Open it to see the visit."
    )


def _create(booking: _Booking, starts: datetime, by: Person | None, now: datetime) -> Visit:
    wanted = booking.wanted
    visit = Visit(
        property=wanted.place,
        kind=booking.kind,
        technician=booking.technician,
        renewal=booking.renewal,
        day=wanted.day,
        window_opens_at=wanted.opens_at,
        window_closes_at=wanted.closes_at,
        starts_at=starts,
        ends_at=starts + timedelta(minutes=wanted.minutes),
        minutes=wanted.minutes,
        note=booking.note,
        created_at=now,
        created_by=by,
    )
    try:
        with transaction.atomic():
            visit.save(force_insert=True)
    except IntegrityError as error:
        raise Refused("just_taken", TAKEN) from error
    return visit
