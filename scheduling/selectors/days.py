"""Who works when: shifts, time off, and a technician's day with its visits."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.http import Http404

from accounts.selectors.people import person_for
from scheduling.models import Shift, TimeOff, Visit

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class WorkDay:
    """One technician's day: the shift and the time off that hold, and every visit not canceled."""

    technician: Person
    day: date
    shift: Shift | None
    time_off: TimeOff | None
    visits: tuple[Visit, ...]

    @property
    def is_working(self) -> bool:
        return self.shift is not None and self.time_off is None

    @property
    def planned(self) -> tuple[Visit, ...]:
        """Visits that have a planned time, in its order."""
        return tuple(visit for visit in self.visits if visit.starts_at is not None)


def work_days(
    people: Collection[Person], days: Collection[date]
) -> dict[tuple[int, date], WorkDay]:
    """Every day of every technician given, in three queries; visits in planned order.

    `people` carry their branch; the keys are (person, day).
    """
    if not people:
        return {}
    ids = [person.pk for person in people]
    first, last = min(days), max(days)
    shifts = {(s.technician_id, s.weekday): s for s in Shift.objects.filter(technician__in=ids)}
    absences = list(
        TimeOff.objects.filter(technician__in=ids, starts_on__lte=last, ends_on__gte=first)
    )
    visits = _visits(ids, days)
    return {
        (person.pk, day): WorkDay(
            technician=person,
            day=day,
            shift=shifts.get((person.pk, day.weekday())),
            time_off=_absence(absences, person.pk, day),
            visits=tuple(visits.get((person.pk, day), ())),
        )
        for person in people
        for day in days
    }


def _visits(ids: list[int], days: Collection[date]) -> dict[tuple[int, date], list[Visit]]:
    found: dict[tuple[int, date], list[Visit]] = {}
    rows = Visit.objects.not_canceled().filter(technician__in=ids, day__in=list(days))
    ordered = rows.select_related("property__branch", "property__customer", "technician")
    for visit in ordered.order_by("starts_at", "window_opens_at", "pk"):
        found.setdefault((visit.technician_id, visit.day), []).append(visit)
    return found


def _absence(absences: Iterable[TimeOff], technician_id: int, day: date) -> TimeOff | None:
    held = (one for one in absences if one.technician_id == technician_id)
    return next((one for one in held if one.starts_on <= day <= one.ends_on), None)


def shifts_of(technician_id: int) -> QuerySet[Shift]:
    """A technician's week, Monday first."""
    return Shift.objects.filter(technician_id=technician_id).order_by("weekday")


def time_off_of(technician_id: int, since: date) -> QuerySet[TimeOff]:
    """Time off that is not over on `since`, the earliest first."""
    return TimeOff.objects.filter(technician_id=technician_id, ends_on__gte=since)


def booked_between(technician_id: int, first: date, last: date) -> list[Visit]:
    """Open visits of a technician on these days, both included."""
    rows = Visit.objects.open().filter(technician_id=technician_id, day__range=(first, last))
    return list(rows.select_related("property__branch").order_by("day", "window_opens_at", "pk"))


def shift_for(person: Person | None, pk: int) -> Shift:
    """A shift of somebody the person may see; otherwise Http404."""
    shift = Shift.objects.select_related("technician").filter(pk=pk).first()
    if shift is None:
        raise Http404("No such shift.")
    person_for(person, shift.technician_id)
    return shift


def time_off_for(person: Person | None, pk: int) -> TimeOff:
    """Time off of somebody the person may see; otherwise Http404."""
    absence = TimeOff.objects.select_related("technician").filter(pk=pk).first()
    if absence is None:
        raise Http404("No such time off.")
    person_for(person, absence.technician_id)
    return absence
