"""The cheapest place for one stop in routes whose order does not change, or why there is none."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from scheduling.rules.routing.plan import Plan, PlannedRoute, Reason, Unassigned
from scheduling.rules.routing.problem import PlanningProblem, Stop, TechnicianDay
from scheduling.rules.routing.timing import schedule


@dataclass(frozen=True)
class Insertion:
    """A feasible place: the route with the stop in it and what it adds to the driving."""

    stop_id: str
    technician: str
    position: int
    added_travel_s: int
    route: PlannedRoute

    @property
    def start_s(self) -> int:
        return self.route.stops[self.position].start_s


def insert(
    problem: PlanningProblem,
    plan: Plan,
    stop_id: str,
    *,
    technicians: Collection[str] | None = None,
) -> Plan | Unassigned:
    """The plan with the stop at its cheapest place, or the reason why it has none.

    The order of all other stops stays; their times may shift inside their own windows. Ties in
    added driving go to the earlier technician of the problem, then to the earlier position.
    `technicians` limits whose routes are tried. The stop must belong to the problem and not
    be planned yet.
    """
    place = cheapest(problem, plan, stop_id, technicians=technicians)
    if isinstance(place, Unassigned):
        return place
    return with_route(problem, plan, place.route)


def cheapest(
    problem: PlanningProblem,
    plan: Plan,
    stop_id: str,
    *,
    technicians: Collection[str] | None = None,
) -> Insertion | Unassigned:
    """The cheapest place itself, without making the new plan."""
    stop = problem.stop_by_id[stop_id]
    days = able_days(problem, stop, technicians)
    if isinstance(days, Reason):
        return Unassigned(stop_id, days)
    for added, spot, position in _places(problem, plan, stop, days):
        route = _try(problem, plan, days[spot], stop_id, position)
        if route is not None:
            return Insertion(stop_id, days[spot].technician, position, added, route)
    return Unassigned(stop_id, _why(problem, plan, stop, days))


def best_by_technician(problem: PlanningProblem, plan: Plan, stop_id: str) -> tuple[Insertion, ...]:
    """The cheapest place with every technician who has one, cheapest first, to offer a choice."""
    found = [cheapest(problem, plan, stop_id, technicians={day.technician}) for day in problem.days]
    places = [place for place in found if isinstance(place, Insertion)]
    return tuple(sorted(places, key=lambda place: place.added_travel_s))


def able_days(
    problem: PlanningProblem, stop: Stop, technicians: Collection[str] | None = None
) -> tuple[TechnicianDay, ...] | Reason:
    """The shifts that may take the stop by promise and skill, or the reason why none may."""
    days = [day for day in problem.days if technicians is None or day.technician in technicians]
    if not days:
        return Reason.NO_TECHNICIAN
    if stop.fixed_technician is not None:
        days = [day for day in days if day.technician == stop.fixed_technician]
        if not days:
            return Reason.TECHNICIAN_AWAY
    days = [day for day in days if stop.required_skills <= day.skills]
    return tuple(days) or Reason.NO_SKILL


def with_route(problem: PlanningProblem, plan: Plan, route: PlannedRoute) -> Plan:
    """The plan with this technician's route replaced, in the order of the problem's technicians."""
    routes = {old.technician: old for old in plan.routes} | {route.technician: route}
    ordered = (routes.get(day.technician) for day in problem.days)
    kept = tuple(one for one in ordered if one is not None and one.stops)
    gone = tuple(one for one in plan.unassigned if one.stop_id not in route.stop_ids)
    return replace(plan, routes=kept, unassigned=gone)


def _order(plan: Plan, day: TechnicianDay) -> tuple[str, ...]:
    route = plan.route_of(day.technician)
    return () if route is None else route.stop_ids


def _places(
    problem: PlanningProblem, plan: Plan, stop: Stop, days: tuple[TechnicianDay, ...]
) -> list[tuple[int, int, int]]:
    places = []
    for spot, day in enumerate(days):
        line = [problem.stop_by_id[name].location for name in _order(plan, day)]
        ends = [day.start_location, *line, day.end_location]
        # An unused technician stays at home: the whole round trip is new.
        old = 1 if line else 0
        for position in range(len(ends) - 1):
            a, b = ends[position], ends[position + 1]
            there = problem.travel_s[a][stop.location] + problem.travel_s[stop.location][b]
            places.append((there - old * problem.travel_s[a][b], spot, position))
    return sorted(places)


def _try(
    problem: PlanningProblem,
    plan: Plan,
    day: TechnicianDay,
    stop_id: str,
    position: int,
    *,
    lunch: bool = True,
) -> PlannedRoute | None:
    order = _order(plan, day)
    return schedule(problem, day, (*order[:position], stop_id, *order[position:]), lunch=lunch)


def _why(
    problem: PlanningProblem, plan: Plan, stop: Stop, days: tuple[TechnicianDay, ...]
) -> Reason:
    """The rule that stands in the way, asked from the nearest miss to the farthest."""
    alone = (stop.id,)
    for day in days:
        spots = range(len(_order(plan, day)) + 1)
        if any(_try(problem, plan, day, stop.id, spot, lunch=False) for spot in spots):
            return Reason.LUNCH
    if any(schedule(problem, day, alone) for day in days):
        return Reason.SHIFT_FULL
    if any(schedule(problem, day, alone, lunch=False) for day in days):
        return Reason.LUNCH
    if any(schedule(problem, day, alone, lunch=False, windows=False) for day in days):
        return Reason.WINDOW_CLOSED
    return Reason.TOO_FAR
