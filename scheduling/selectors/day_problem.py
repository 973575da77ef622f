"""A technician's or a branch's day as the routing rules take it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from scheduling.models import Visit
from scheduling.rules.local_clock import instant, second_of
from scheduling.rules.routing.problem import Break, PlanningProblem, Stop, TechnicianDay, Window
from scheduling.rules.travel import Point, travel_matrix
from scheduling.selectors.days import WorkDay

if TYPE_CHECKING:
    from accounts.models import Branch
    from sites.models import Property

DEPOT = 0


def point_of(place: Branch | Property) -> Point | None:
    """Where a shop or a property is; None when nobody said."""
    if place.latitude is None or place.longitude is None:
        return None
    return Point(float(place.latitude), float(place.longitude))


def day_problem(
    branch: Branch, days: Iterable[WorkDay], stops: Sequence[tuple[Stop, Property]]
) -> PlanningProblem:
    """The problem of these technicians and stops; everyone starts and ends at the shop.

    Each stop's `location` is its place in `stops` plus one: place 0 is the shop.
    """
    points = [point_of(branch), *(point_of(place) for _, place in stops)]
    return PlanningProblem(
        stops=tuple(stop for stop, _ in stops),
        days=tuple(technician_day(one, branch.time_zone) for one in days if one.is_working),
        travel_s=travel_matrix(points),
    )


def technician_day(work: WorkDay, time_zone: str) -> TechnicianDay:
    """The shift with its lunch in seconds of the day, however the clock is changed on it."""
    shift, day = work.shift, work.day
    assert shift is not None
    starts, ends, lunch_from, lunch_until = (
        second_of(instant(day, at, time_zone), day, time_zone)
        for at in (shift.starts, shift.ends, shift.lunch_from, shift.lunch_until)
    )
    length = shift.lunch_minutes * 60
    lunch = Break(lunch_from, lunch_until, length) if length else None
    name = str(work.technician.pk)
    return TechnicianDay(name, DEPOT, DEPOT, starts, ends, lunch=lunch)


def fixed_stop(visit: Visit, location: int, time_zone: str) -> Stop:
    """A planned visit that stays exactly where it is."""
    starts, ends = visit.starts_at, visit.ends_at
    assert starts is not None and ends is not None
    begin = second_of(starts, visit.day, time_zone)
    return Stop(
        id=str(visit.pk),
        location=location,
        service_s=int((ends - starts).total_seconds()),
        windows=(Window(begin, begin),),
        fixed_technician=str(visit.technician_id),
        priority=3,
    )


def open_stop(visit: Visit, location: int, time_zone: str, now: datetime) -> Stop:
    """A promised visit that may be planned anywhere in its window, from now on."""
    return Stop(
        id=str(visit.pk),
        location=location,
        service_s=visit.minutes * 60,
        windows=(arrival(visit, time_zone, now),),
        fixed_technician=str(visit.technician_id),
    )


def arrival(visit: Visit, time_zone: str, now: datetime) -> Window:
    """When the work may begin: inside the promise, not before the next whole minute.

    A promise that is over already keeps its last instant, so that the plan says it has no place.
    """
    opens = max(visit.window_opens_at, next_minute(now))
    closes = visit.window_closes_at
    first, last = (second_of(at, visit.day, time_zone) for at in (min(opens, closes), closes))
    return Window(max(0, first), max(0, last))


def next_minute(now: datetime) -> datetime:
    """The first whole minute that is not before `now`."""
    whole = now.replace(second=0, microsecond=0)
    return whole if whole == now else whole + timedelta(minutes=1)
