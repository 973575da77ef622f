"""Planning the booked visits of a day: solve, check independently, store as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from time import monotonic
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.selectors.people import branches_for, technicians_of
from accounts.services.audit import note_event
from scheduling.models import Route, RouteStop, Shift, Visit
from scheduling.rules.local_clock import moment_at
from scheduling.rules.routing.build import solve
from scheduling.rules.routing.plan import Plan, PlannedRoute, PlannedStop, cost_s
from scheduling.rules.routing.problem import PlanningProblem
from scheduling.rules.routing.verify import verify
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.day_problem import day_problem, fixed_stop, open_stop
from scheduling.selectors.days import WorkDay, work_days
from scheduling.services.plan_licenses import tell_unlicensed
from scheduling.services.plan_report import BranchPlan, PlanReport, branch_plan, minutes

if TYPE_CHECKING:
    from accounts.models import Branch, Person

ATTEMPTS = 200  # to improve the plan; the same day gives the same plan every time
MOST_SECONDS = 5.0  # then the plan found so far is taken, marked as cut short


class PlanBrokenError(Exception):
    """A plan that fails its independent check: a fault of the program, never stored."""


def plan_day(
    *, day: date, branch_id: int | None = None, by: Person | None, now: datetime
) -> PlanReport:
    """Order the booked visits of a day and set their planned times; run again, nothing moves.

    Each visit stays with the technician it was promised to; a visit that was started or is over
    stays where it was. The plan that stands is kept unless another one is better. A visit without
    a place keeps its promise, loses its planned time and is named with the reason. A visit whose
    technician's license is not in force that day stays as planned, is named and opens an item.
    """
    require(by, Permission.PLAN_ROUTES)
    found = [one for one in branches_for(by) if branch_id in (None, one.pk)]
    return PlanReport(day, tuple(_plan_branch(one, day, by, now) for one in found))


@dataclass(frozen=True)
class _Day:
    """What a branch's day is planned from; days of the same problem and order plan the same."""

    people: tuple[Person, ...]
    works: tuple[WorkDay, ...]
    visits: tuple[Visit, ...]
    problem: PlanningProblem
    standing: Plan


def _plan_branch(branch: Branch, day: date, by: Person | None, now: datetime) -> BranchPlan:
    """Solve before the transaction, which must be short; solve again if the day changed since."""
    seen = _read(branch, day, now)
    plan = _checked(seen)
    with transaction.atomic():
        _take_turn(seen.people, day)
        held = _read(branch, day, now)
        if (held.problem, held.standing) != (seen.problem, seen.standing):
            plan = _checked(held)
        moved = _store(branch, day, held, plan, now)
        unlicensed = tell_unlicensed(held.people, held.visits)
        if moved:
            note_event(by=by, act="plan_routes", thing=branch, now=now, day=str(day), moved=moved)
    return branch_plan(branch, held.people, held.visits, plan, unlicensed=unlicensed, moved=moved)


def _take_turn(people: Sequence[Person], day: date) -> None:
    """Hold the shifts of the day: bookings and other plans of these technicians wait."""
    shifts = Shift.objects.select_for_update().filter(technician__in=people, weekday=day.weekday())
    list(shifts.order_by("pk"))


def _read(branch: Branch, day: date, now: datetime) -> _Day:
    people = _people(branch, day)
    days = work_days(people, [day]).values()
    works = tuple(work for work in days if work.is_working or work.visits)
    visits = tuple(visit for work in works for visit in work.visits if _counts(visit))
    problem = _problem(branch, works, visits, now)
    return _Day(tuple(people), works, visits, problem, _standing(works))


def _checked(day: _Day) -> Plan:
    plan = _best(day.problem, day.standing)
    broken = verify(day.problem, plan)
    if broken:
        raise PlanBrokenError("; ".join(broken))
    return plan


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
    fresh = solve(problem, iterations=ATTEMPTS, wall_limit_s=MOST_SECONDS, clock=monotonic)
    return fresh if cost_s(problem, fresh) < cost_s(problem, kept) else kept


def _store(branch: Branch, day: date, held: _Day, plan: Plan, now: datetime) -> int:
    """Clear the times of every visit that moves, then set them; rewrite the routes."""
    begins = {
        int(stop.stop_id): moment_at(stop.start_s, day, branch.time_zone)
        for route in plan.routes
        for stop in route.stops
    }
    moving = [
        visit
        for visit in held.visits
        if visit.state == VisitState.BOOKED and visit.starts_at != begins.get(visit.pk)
    ]
    Visit.objects.filter(pk__in=[one.pk for one in moving]).update(starts_at=None, ends_at=None)
    for visit in moving:
        visit.starts_at = begins.get(visit.pk)
        visit.ends_at = visit.starts_at and visit.starts_at + timedelta(minutes=visit.minutes)
    Visit.objects.bulk_update(moving, ["starts_at", "ends_at"])
    _write_routes(day, held.people, plan, now)
    return len(moving)


def _write_routes(day: date, people: Sequence[Person], plan: Plan, now: datetime) -> None:
    Route.objects.filter(day=day, technician__in=people).delete()
    routes = Route.objects.bulk_create(
        Route(
            technician_id=int(route.technician),
            day=day,
            planned_at=now,
            drive_minutes=minutes(route.travel_s),
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
            drive_minutes=minutes(stop.travel_s),
        )
        for stored, route in zip(routes, plan.routes, strict=True)
        for position, stop in enumerate(route.stops, start=1)
    )
