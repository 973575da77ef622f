"""A planned day as people read it: each technician's stops in order, and what has no place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from scheduling.rules.day_words import clock, count, local, week_day
from scheduling.rules.local_clock import moment_at
from scheduling.rules.routing.plan import Plan, PlannedStop

if TYPE_CHECKING:
    from accounts.models import Branch, Person
    from scheduling.models import Visit


@dataclass(frozen=True)
class PlannedVisit:
    """One stop of a planned day, in the branch's own time."""

    visit: Visit
    starts: datetime
    drive_minutes: int


@dataclass(frozen=True)
class PlannedDay:
    """One technician's stops in order."""

    technician: Person
    stops: tuple[PlannedVisit, ...]
    drive_minutes: int


@dataclass(frozen=True)
class LeftOut:
    """A promised visit without a place, and why."""

    visit: Visit
    reason: str


@dataclass(frozen=True)
class Unlicensed:
    """A visit left as planned although no license of its technician is in force, and why."""

    visit: Visit
    reason: str


@dataclass(frozen=True)
class BranchPlan:
    """The day of one branch, and how many visits got another time."""

    branch: Branch
    days: tuple[PlannedDay, ...]
    left_out: tuple[LeftOut, ...]
    unlicensed: tuple[Unlicensed, ...]
    moved: int


@dataclass(frozen=True)
class PlanReport:
    """The day of every branch planned."""

    day: date
    branches: tuple[BranchPlan, ...]

    def lines(self) -> list[str]:
        """The plan in words, one line a stop."""
        return [line for branch in self.branches for line in _branch_lines(self.day, branch)]


def minutes(seconds: int) -> int:
    """Whole minutes, rounded up as planned times are."""
    return -(-seconds // 60)


def branch_plan(
    branch: Branch,
    people: Iterable[Person],
    visits: Iterable[Visit],
    plan: Plan,
    *,
    unlicensed: tuple[Unlicensed, ...],
    moved: int,
) -> BranchPlan:
    """A plan of keys as a report of rows."""
    by_id = {str(visit.pk): visit for visit in visits}
    by_key = {str(person.pk): person for person in people}
    days = tuple(
        PlannedDay(
            technician=by_key[route.technician],
            stops=tuple(_planned(by_id[stop.stop_id], stop, branch) for stop in route.stops),
            drive_minutes=minutes(route.travel_s),
        )
        for route in plan.routes
    )
    left_out = tuple(LeftOut(by_id[gone.stop_id], gone.sentence) for gone in plan.unassigned)
    return BranchPlan(branch, days, left_out, unlicensed, moved)


def _planned(visit: Visit, stop: PlannedStop, branch: Branch) -> PlannedVisit:
    starts = local(moment_at(stop.start_s, visit.day, branch.time_zone), branch.time_zone)
    return PlannedVisit(visit, starts, minutes(stop.travel_s))


def _branch_lines(day: date, plan: BranchPlan) -> Iterable[str]:
    yield f"{plan.branch}, {week_day(day)}: {count(plan.moved, 'visit')} moved."
    for one in plan.days:
        stops = count(len(one.stops), "stop")
        yield f"  {one.technician.full_name}: {stops}, {one.drive_minutes} min of driving"
        for position, stop in enumerate(one.stops, start=1):
            yield (
                f"    {position}. {clock(stop.starts)}  {stop.visit.property.address}, "
                f"{stop.visit.minutes} min, drive {stop.drive_minutes} min"
            )
    for gone in plan.left_out:
        yield f"  No place: {gone.visit.property.address}. {gone.reason}"
    for barred in plan.unlicensed:
        yield f"  No license: {barred.visit.property.address}. {barred.reason}"
    if not plan.days and not plan.left_out:
        yield "  No visits are booked."
