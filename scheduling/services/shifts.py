"""Setting when a technician works and when not."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import person_for, technicians_of
from accounts.services.audit import note_event, open_item
from scheduling.models import Shift, TimeOff, Visit
from scheduling.rules.day_words import count, full_day
from scheduling.selectors.days import booked_between, shift_for, time_off_for

if TYPE_CHECKING:
    from accounts.models import Person

MOST_LUNCH_MINUTES = 120
LONGEST_DAYS = 366


@transaction.atomic
def set_shift(
    *,
    technician_id: int,
    weekday: int,
    starts: time,
    ends: time,
    lunch_from: time = time(11, 30),
    lunch_until: time = time(13, 30),
    lunch_minutes: int = 30,
    by: Person | None,
    now: datetime,
) -> Shift:
    """Set the hours of one day of the week (0 is Monday); what was set before is replaced.

    Lunch begins between `lunch_from` and `lunch_until`; 0 minutes is no lunch. Refused: hours that
    do not follow each other, lunch outside the shift, somebody who is no technician.
    """
    require(by, Permission.EDIT_SHIFTS)
    technician = _technician(by, technician_id)
    _check_hours(weekday, starts, ends)
    _check_lunch(starts, ends, lunch_from, lunch_until, lunch_minutes)
    shift, _ = Shift.objects.update_or_create(
        technician=technician,
        weekday=weekday,
        defaults={
            "starts": starts,
            "ends": ends,
            "lunch_from": lunch_from,
            "lunch_until": lunch_until,
            "lunch_minutes": lunch_minutes,
        },
    )
    note_event(by=by, act="set_shift", thing=shift, now=now, technician=technician.full_name)
    return shift


def _technician(by: Person | None, technician_id: int) -> Person:
    person_for(by, technician_id)
    found = technicians_of(None).filter(pk=technician_id).first()
    if found is None:
        raise Refused(
            "no_technician", "Only active technicians have shifts. Give this person the role first."
        )
    return found


def _check_hours(weekday: int, starts: time, ends: time) -> None:
    if weekday not in range(7):
        raise Refused("weekday", "Choose a day of the week.")
    if ends <= starts:
        raise Refused("shift", "The shift ends before it starts. Correct its hours.")


def _check_lunch(
    starts: time, ends: time, lunch_from: time, lunch_until: time, minutes: int
) -> None:
    if not 0 <= minutes <= MOST_LUNCH_MINUTES:
        raise Refused("lunch", f"Lunch takes 0 to {MOST_LUNCH_MINUTES} minutes.")
    if lunch_until < lunch_from:
        raise Refused("lunch", "Lunch must start by a time after it may start. Correct its hours.")
    if minutes and not (starts <= lunch_until and lunch_from < ends):
        raise Refused("lunch", "Lunch lies outside the shift. Correct its hours, or set 0 minutes.")


@transaction.atomic
def remove_shift(*, shift_id: int, by: Person | None, now: datetime) -> None:
    """Remove the hours of one day of the week; visits booked stay promised,
    and planning the day names them."""
    require(by, Permission.EDIT_SHIFTS)
    shift = shift_for(by, shift_id)
    note_event(
        by=by,
        act="remove_shift",
        thing=shift,
        now=now,
        technician=shift.technician.full_name,
        weekday=shift.weekday,
    )
    shift.delete()


@transaction.atomic
def add_time_off(
    *,
    technician_id: int,
    starts_on: date,
    ends_on: date,
    reason: str = "",
    keep_visits: bool = False,
    by: Person | None,
    now: datetime,
) -> TimeOff:
    """Note whole days off, both included.

    Refused: days in the wrong order or more than a year, and, with the list as `visits`, booked
    visits inside unless `keep_visits`: then each opens an item for the office.
    """
    require(by, Permission.EDIT_SHIFTS)
    technician = _technician(by, technician_id)
    _check_days(starts_on, ends_on)
    inside = booked_between(technician_id, starts_on, ends_on)
    if inside and not keep_visits:
        raise Refused("visits_inside", _inside_words(technician, inside), visits=inside)
    absence = TimeOff.objects.create(
        technician=technician,
        starts_on=starts_on,
        ends_on=ends_on,
        reason=reason.strip()[:120],
        created_by=by,
    )
    for visit in inside:
        _tell(technician, visit)
    note_event(by=by, act="add_time_off", thing=absence, now=now, technician=technician.full_name)
    return absence


def _check_days(starts_on: date, ends_on: date) -> None:
    if ends_on < starts_on:
        raise Refused("time_off", "The last day off is before the first. Correct the days.")
    if (ends_on - starts_on).days >= LONGEST_DAYS:
        raise Refused("time_off", "Time off is at most one year. Correct the last day.")


def _inside_words(technician: Person, visits: list[Visit]) -> str:
    days = ", ".join(dict.fromkeys(full_day(visit.day) for visit in visits[:5]))
    more = " and later" if len(visits) > 5 else ""
    return (
        f"{technician.full_name} has {count(len(visits), 'booked visit')} on these days ({days}"
        f"{more}). Cancel or book them anew first, or keep them and see them among the open items."
    )


def _tell(technician: Person, visit: Visit) -> None:
    open_item(
        branch_id=visit.property.branch_id,
        code="visit_in_time_off",
        thing=visit,
        sentence=(
            f"{technician.full_name} is off on {full_day(visit.day)}, but a visit at "
            f"{visit.property} is booked. Cancel it or book it with somebody else."
        ),
    )


@transaction.atomic
def remove_time_off(*, time_off_id: int, by: Person | None, now: datetime) -> TimeOff:
    """Take days off back; the answer is the row that was."""
    require(by, Permission.EDIT_SHIFTS)
    absence = time_off_for(by, time_off_id)
    note_event(
        by=by,
        act="remove_time_off",
        thing=absence,
        now=now,
        technician=absence.technician.full_name,
        starts_on=str(absence.starts_on),
        ends_on=str(absence.ends_on),
    )
    absence.delete()
    return absence
