"""What must hold before a visit is booked; each refusal says what to do."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.selectors.people import technicians_of
from scheduling.rules.day_words import clock, full_day, local
from scheduling.rules.local_clock import is_shown
from scheduling.selectors.days import WorkDay
from scheduling.services.places import Wanted
from scheduling.services.reconcile import WORKED_FOR

if TYPE_CHECKING:
    from accounts.models import ApplicatorLicense, Person
    from sites.models import Property

MOST_MINUTES = 480
FARTHEST = timedelta(days=366)


def check_wanted(wanted: Wanted, now: datetime) -> None:
    """Refuse minutes, hours and days that cannot be meant."""
    if not 1 <= wanted.minutes <= MOST_MINUTES:
        raise Refused("minutes", f"A visit takes 1 to {MOST_MINUTES} minutes. Correct the minutes.")
    if wanted.opens >= wanted.closes:
        raise Refused("window", "The arrival window ends before it opens. Correct its hours.")
    zone = wanted.place.branch.time_zone
    today = local(now, zone).date()
    if wanted.day < today or (wanted.day == today and wanted.closes_at <= now):
        raise Refused("past", "This arrival window is over. Choose a later one.")
    if wanted.day - today > FARTHEST:
        raise Refused("too_far_ahead", "Choose a day within the next 12 months.")
    for at in (wanted.opens, wanted.closes):
        if not is_shown(wanted.day, at, zone):
            raise Refused(
                "window",
                f"{clock(at)} does not exist on {full_day(wanted.day)}: clocks go forward. "
                "Choose another hour.",
            )


def check_account(place: Property) -> None:
    """Refuse a visit to a customer whose account is closed."""
    if place.customer.status != WORKED_FOR:
        raise Refused(
            "closed_account",
            f"The account of {place.customer} is closed. Make the customer active first.",
        )


def technician_for(technician_id: int, place: Property) -> Person:
    """The technician asked for; refused when nobody such works here or in another branch."""
    found = technicians_of(None).select_related("branch").filter(pk=technician_id).first()
    if found is None:
        raise Refused(
            "no_technician", "This is no active technician. Choose a technician from the list."
        )
    if found.branch_id != place.branch_id:
        raise Refused(
            "other_branch",
            f"{found.full_name} works for {found.branch}, this property belongs to "
            f"{place.branch}. Choose a technician of {place.branch}.",
        )
    return found


def license_check(technician: Person, state: str) -> Callable[[date], bool]:
    """A question to ask for any day: is a license of the state in force then."""
    terms = [(one.issued_on, one.expires_on) for one in _licenses(technician, state)]
    return lambda day: any(issued <= day <= expires for issued, expires in terms)


def check_license(technician: Person, state: str, day: date) -> None:
    """Refuse a technician without a license of the property's state on that day."""
    fault = license_fault(technician, state, day)
    if fault:
        raise Refused(
            "no_license",
            f"{fault} Renew the license and enter its new dates, or choose another technician.",
        )


def license_fault(technician: Person, state: str, day: date) -> str:
    """Why no license of a state is in force for a technician on a day; empty when one is.

    Give people with their licenses prefetched when there are many.
    """
    rows = _licenses(technician, state)
    if any(one.issued_on <= day <= one.expires_on for one in rows):
        return ""
    return _license_words(technician, state, rows, day)


def _licenses(technician: Person, state: str) -> list[ApplicatorLicense]:
    held = (one for one in technician.licenses.all() if one.state == state)
    return sorted(held, key=lambda one: one.expires_on)


def _license_words(technician: Person, state: str, rows: list[ApplicatorLicense], day: date) -> str:
    name = technician.full_name
    over = [one for one in rows if one.expires_on < day]
    if over:
        last = over[-1]
        return (
            f"{name}'s {state} license {last.number} expires on {full_day(last.expires_on)} "
            f"and is not in force on {full_day(day)}."
        )
    if rows:
        return (
            f"{name}'s {state} license {rows[0].number} begins on {full_day(rows[0].issued_on)}, "
            f"after {full_day(day)}."
        )
    return f"{name} has no {state} license."


def check_working(work: WorkDay) -> None:
    """Refuse a day on which the technician does not work."""
    name, day = work.technician.full_name, full_day(work.day)
    if work.shift is None:
        raise Refused(
            "no_shift",
            f"{name} has no shift on {work.day:%A}s. Choose another day, or set a shift.",
        )
    if work.time_off is not None:
        raise Refused(
            "time_off",
            f"{name} is off on {day}, until {full_day(work.time_off.ends_on)}. "
            "Choose another day or another technician.",
        )


def check_inside_shift(work: WorkDay, wanted: Wanted) -> None:
    """Refuse a window that lies wholly outside the shift."""
    shift = work.shift
    if shift is not None and (wanted.closes <= shift.starts or wanted.opens >= shift.ends):
        raise Refused(
            "no_shift",
            f"{work.technician.full_name} works {clock(shift.starts)} to {clock(shift.ends)} "
            "on this day. Choose a window inside these hours.",
        )
