"""Planning the booked visits of a day: solve, check independently, store as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.selectors.people import branches_for, technicians_of
from accounts.services.audit import note_event
from scheduling.models import Route, RouteStop, Shift, Visit
from scheduling.rules.day_words import clock, count, local, week_day
from scheduling.rules.local_clock import moment_at
from scheduling.rules.routing.build import solve
from scheduling.rules.routing.plan import Plan, PlannedRoute, PlannedStop, cost_s
from scheduling.rules.routing.problem import PlanningProblem
from scheduling.rules.routing.verify import verify
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.day_problem import day_problem, fixed_stop, open_stop
from scheduling.selectors.days import WorkDay, work_days

if TYPE_CHECKING:
    from accounts.models import Branch, Person

ATTEMPTS = 200  # to improve the plan; the same day gives the same plan every time


class PlanBrokenError(Exception):
    """A plan that fails its independent check: a fault of the program, never stored."""


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
class BranchPlan:
    """The day of one branch, and how many visits got another time."""

    branch: Branch
    days: tuple[PlannedDay, ...]
    left_out: tuple[LeftOut, ...]
    moved: int


@dataclass(frozen=True)
class PlanReport:
    """The day of every branch planned."""

    day: date
    branches: tuple[BranchPlan, ...]

    def lines(self) -> list[str]:
        """The plan in words, one line a stop."""
        return [line for branch in self.branches for line in _branch_lines(self.day, branch)]


def plan_day(
    *, day: date, branch_id: int | None = None, by: Person | None, now: datetime
) -> PlanReport:
    """Order the booked visits of a day and set their planned times; run again, nothing moves.

    Each visit stays with the technician it was promised to; a visit that was started or is over
    stays where it was. The plan that stands is kept unless another one is better. A visit without
    a place keeps its promise, loses its planned time and is named with the reason.
    """
    require(by, Permission.PLAN_ROUTES)
    found = [one for one in branches_for(by) if branch_id in (None, one.pk)]
    return PlanReport(day, tuple(_plan_branch(one, day, by, now) for one in found))


@transaction.atomic
def _plan_branch(branch: Branch, day: date, by: Person | None, now: datetime) -> BranchPlan:
    people = _people(branch, day)
    list(
        Shift.objects.select_for_update()
        .filter(technician__in=people, weekday=day.weekday())
        .order_by("pk")
    )
    if not people:
        return BranchPlan(branch, (), (), 0)
    works = [work for work in work_days(people, [day]).values() if work.is_working or work.visits]
    visits = [visit for work in works for visit in work.visits if _counts(visit)]
    problem = _problem(branch, works, visits, now)
    plan = _best(problem, _standing(works))
    broken = verify(problem, plan)
    if broken:
        raise PlanBrokenError("; ".join(broken))
    moved = _store(branch, day, people, visits, plan, now)
    if moved:
        note_event(by=by, act="plan_routes", thing=branch, now=now, day=str(day), moved=moved)
    return _branch_plan(branch, works, visits, plan, moved)


def _people(branch: Branch, day: date) -> list[Person]:
    """The branch's technicians, and whoever else has a visit of that day there."""
    people = {one.pk: one for one in technicians_of(branch.pk).select_related("branch")}
    others = Visit.objects.not_canceled().of_day(day).filter(property__branch=branch.pk)
    for visit in others.select_related("technician__branch"):
        people.setdefault(visit.technician_id, visit.technician)
    return sorted(people.values(), key=lambda one: one.pk)


def _counts(visit: Visit) -> bool:
    """Booked visits are planned; one that began counts only where it had a planned time."""
    return visit.state == VisitState.BOOKED or visit.starts_at is not None


def _problem(
    branch: Branch, works: Sequence[WorkDay], visits: Sequence[Visit], now: datetime
) -> PlanningProblem:
    zone = branch.time_zone
    stops = [
        (
            open_stop(visit, place, zone, now)
            if visit.state == VisitState.BOOKED
            else fixed_stop(visit, place, zone),
            visit.property,
        )
        for place, visit in enumerate(visits, start=1)
    ]
    return day_problem(branch, works, stops)


def _standing(works: Iterable[WorkDay]) -> Plan:
    """The order that stands; its times are found anew, so only the order is carried."""
    routes = []
    for work in works:
        stops = tuple(PlannedStop(str(visit.pk), 0, 0, 0, 0) for visit in work.planned)
        routes.append(PlannedRoute(str(work.technician.pk), stops, None, 0, 0))
    return Plan(tuple(route for route in routes if route.stops))


def _best(problem: PlanningProblem, standing: Plan) -> Plan:
    """The standing order completed, unless a plan from nothing is better.

    Both depend only on the day's visits, so planning a second time keeps the first plan.
    """
    kept = solve(problem, start=standing)
    fresh = solve(problem, iterations=ATTEMPTS)
    return fresh if cost_s(problem, fresh) < cost_s(problem, kept) else kept


def _store(
    branch: Branch,
    day: date,
    people: Sequence[Person],
    visits: Sequence[Visit],
    plan: Plan,
    now: datetime,
) -> int:
    """Clear the times of every visit that moves, then set them; rewrite the routes."""
    begins = {
        int(stop.stop_id): moment_at(stop.start_s, day, branch.time_zone)
        for route in plan.routes
        for stop in route.stops
    }
    moving = [
        visit
        for visit in visits
        if visit.state == VisitState.BOOKED and visit.starts_at != begins.get(visit.pk)
    ]
    Visit.objects.filter(pk__in=[one.pk for one in moving]).update(starts_at=None, ends_at=None)
    for visit in moving:
        visit.starts_at = begins.get(visit.pk)
        visit.ends_at = visit.starts_at and visit.starts_at + timedelta(minutes=visit.minutes)
    Visit.objects.bulk_update(moving, ["starts_at", "ends_at"])
    _write_routes(day, people, plan, now)
    return len(moving)


def _write_routes(day: date, people: Sequence[Person], plan: Plan, now: datetime) -> None:
    Route.objects.filter(day=day, technician__in=people).delete()
    routes = Route.objects.bulk_create(
        Route(
            technician_id=int(route.technician),
            day=day,
            planned_at=now,
            drive_minutes=_minutes(route.travel_s),
            is_complete=plan.complete,
        )
        for route in plan.routes
    )
    RouteStop.objects.filter(visit__day=day, visit__technician__in=people).delete()
    RouteStop.objects.bulk_create(
        RouteStop(
            route=stored,
            visit_id=int(stop.stop_id),
            position=position,
            drive_minutes=_minutes(stop.travel_s),
        )
        for stored, route in zip(routes, plan.routes, strict=True)
        for position, stop in enumerate(route.stops, start=1)
    )


def _minutes(seconds: int) -> int:
    return -(-seconds // 60)


def _branch_plan(
    branch: Branch, works: Sequence[WorkDay], visits: Sequence[Visit], plan: Plan, moved: int
) -> BranchPlan:
    by_id = {str(visit.pk): visit for visit in visits}
    people = {str(work.technician.pk): work.technician for work in works}
    days = tuple(
        PlannedDay(
            technician=people[route.technician],
            stops=tuple(_planned(by_id[stop.stop_id], stop, branch) for stop in route.stops),
            drive_minutes=_minutes(route.travel_s),
        )
        for route in plan.routes
    )
    left_out = tuple(LeftOut(by_id[gone.stop_id], gone.sentence) for gone in plan.unassigned)
    return BranchPlan(branch, days, left_out, moved)


def _planned(visit: Visit, stop: PlannedStop, branch: Branch) -> PlannedVisit:
    starts = local(moment_at(stop.start_s, visit.day, branch.time_zone), branch.time_zone)
    return PlannedVisit(visit, starts, _minutes(stop.travel_s))


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
    if not plan.days and not plan.left_out:
        yield "  No visits are booked."
