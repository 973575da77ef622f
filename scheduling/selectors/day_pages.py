"""The planned day: each technician's stops in order, and what has no planned time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from accounts.selectors.people import branches_for, technicians_of
from scheduling.models import Route, Shift, TimeOff, Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import hours
from scheduling.selectors.visit_words import VisitWords, visit_words

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class Stop:
    """A visit in a technician's day; `drive` is minutes from the stop before."""

    words: VisitWords
    street: str
    town: str
    property_id: int
    customer: str
    minutes: int
    drive: int | None


@dataclass(frozen=True)
class TechnicianDay:
    """One technician: hours, route and stops; `unplanned` are promised without a planned time."""

    technician: Person
    shift: str
    is_off: bool
    route: Route | None
    stops: Sequence[Stop]
    unplanned: Sequence[Stop]

    @property
    def work_minutes(self) -> int:
        return sum(stop.minutes for stop in self.stops)


@dataclass(frozen=True)
class DayPage:
    """A day of every technician of the branches shown."""

    day: date
    people: Sequence[TechnicianDay]

    @property
    def visits(self) -> int:
        return sum(len(one.stops) + len(one.unplanned) for one in self.people)

    @property
    def unplanned(self) -> int:
        return sum(len(one.unplanned) for one in self.people)


def day_page(person: Person, day: date, branch_id: int | None) -> DayPage:
    """Read the day of every technician the person may see, in a fixed number of queries."""
    branches = [one.pk for one in branches_for(person) if branch_id in (None, one.pk)]
    visits = _visits(branches, day)
    people = {one.pk: one for one in _technicians(branches)}
    people |= {visit.technician_id: visit.technician for visit in visits}
    routes = {one.technician_id: one for one in Route.objects.filter(day=day)}
    shifts = {one.technician_id: one for one in Shift.objects.filter(weekday=day.weekday())}
    away = set(
        TimeOff.objects.filter(starts_on__lte=day, ends_on__gte=day).values_list(
            "technician_id", flat=True
        )
    )
    ordered = sorted(people.values(), key=lambda one: (one.full_name, one.pk))
    return DayPage(
        day=day,
        people=[
            _technician_day(one, visits, routes.get(one.pk), shifts.get(one.pk), one.pk in away)
            for one in ordered
        ],
    )


def _technicians(branches: Sequence[int]) -> list[Person]:
    return [one for one in technicians_of(None) if one.branch_id in branches]


def _visits(branches: Sequence[int], day: date) -> list[Visit]:
    rows = Visit.objects.of_day(day).not_canceled().filter(property__branch_id__in=branches)
    return list(
        rows.select_related(
            "technician", "property__customer", "property__branch", "route_stop"
        ).order_by("starts_at", "window_opens_at", "pk")
    )


def _technician_day(
    technician: Person,
    visits: Sequence[Visit],
    route: Route | None,
    shift: Shift | None,
    is_off: bool,
) -> TechnicianDay:
    mine = [visit for visit in visits if visit.technician_id == technician.pk]
    return TechnicianDay(
        technician=technician,
        shift=hours(shift.starts, shift.ends) if shift else "",
        is_off=is_off,
        route=route,
        stops=[_stop(visit) for visit in mine if visit.starts_at],
        unplanned=[_stop(one) for one in mine if not one.starts_at and one.state in OPEN_STATES],
    )


def _stop(visit: Visit) -> Stop:
    place = visit.property
    planned = getattr(visit, "route_stop", None)
    return Stop(
        words=visit_words(visit, place.branch.time_zone),
        street=place.street,
        town=place.city,
        property_id=place.pk,
        customer=place.customer.name,
        minutes=visit.minutes,
        drive=planned.drive_minutes if planned else None,
    )
