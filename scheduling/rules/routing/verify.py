"""An independent check of a plan: it shares no timing with what builds plans.

It believes only the order, the start of each service and the start of lunch; it recomputes the
rest from the travel matrix. Capacity is not a rule here and is not checked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduling.rules.routing.plan import Plan, PlannedRoute, PlannedStop
from scheduling.rules.routing.problem import PlanningProblem, Stop, TechnicianDay


def verify(problem: PlanningProblem, plan: Plan) -> tuple[str, ...]:
    """Every rule the plan breaks, one sentence each; empty means it may be stored."""
    return tuple(_broken(problem, plan))


def travel_total_s(problem: PlanningProblem, plan: Plan) -> int:
    """The seconds driven in the plan, from its order and the matrix alone."""
    return sum(sum(_legs(problem, route)) for route in plan.routes)


def _broken(problem: PlanningProblem, plan: Plan) -> Iterator[str]:
    yield from _count(problem, plan)
    days = {day.technician: day for day in problem.days}
    stops = {stop.id: stop for stop in problem.stops}
    for route in plan.routes:
        unknown = [one.stop_id for one in route.stops if one.stop_id not in stops]
        if route.technician not in days:
            yield f"{route.technician} does not work on this day."
        elif not unknown:
            yield from _route(problem, days[route.technician], route, stops)


def _count(problem: PlanningProblem, plan: Plan) -> Iterator[str]:
    known = {stop.id for stop in problem.stops}
    named = Counter(one.stop_id for route in plan.routes for one in route.stops)
    named.update(gone.stop_id for gone in plan.unassigned)
    yield from (f"Stop {name} is not in the problem." for name in named if name not in known)
    yield from (f"Stop {name} is named {many} times." for name, many in named.items() if many > 1)
    yield from (f"Stop {stop.id} is missing." for stop in problem.stops if stop.id not in named)
    drivers = Counter(route.technician for route in plan.routes)
    yield from (f"{name} has {many} routes." for name, many in drivers.items() if many > 1)


def _legs(problem: PlanningProblem, route: PlannedRoute) -> list[int]:
    day = next(day for day in problem.days if day.technician == route.technician)
    where = {stop.id: stop.location for stop in problem.stops}
    line = [day.start_location, *(where[one.stop_id] for one in route.stops), day.end_location]
    return [problem.travel_s[line[i]][line[i + 1]] for i in range(len(line) - 1)]


def _route(
    problem: PlanningProblem, day: TechnicianDay, route: PlannedRoute, stops: dict[str, Stop]
) -> Iterator[str]:
    if not route.stops:
        yield f"The route of {route.technician} has no stops."
        return
    legs = _legs(problem, route)
    if route.travel_s != sum(legs):
        yield f"{route.technician}: {route.travel_s} s of driving noted, {sum(legs)} s driven."
    for one in route.stops:
        yield from _stop(day, one, stops[one.stop_id])
    yield from _drives(day, route, legs)
    yield from _lunch(day, route)


def _stop(day: TechnicianDay, one: PlannedStop, stop: Stop) -> Iterator[str]:
    if one.end_s - one.start_s != stop.service_s:
        yield f"Stop {stop.id}: the service is not {stop.service_s} s long."
    if stop.windows and not any(w.open_s <= one.start_s <= w.close_s for w in stop.windows):
        yield f"Stop {stop.id} begins at {one.start_s}, outside its windows."
    if not stop.required_skills <= day.skills:
        yield f"Stop {stop.id} needs a skill that {day.technician} does not hold."
    if stop.fixed_technician not in (None, day.technician):
        yield f"Stop {stop.id} was promised to {stop.fixed_technician}, not {day.technician}."


def _drives(day: TechnicianDay, route: PlannedRoute, legs: list[int]) -> Iterator[str]:
    """Each stretch from one service to the next must hold its drive and any lunch inside it."""
    free = day.start_s
    for one, leg in zip(route.stops, legs[:-1], strict=True):
        arrive, ready = _door(free, leg, _meal(day, route, free, one.start_s))
        if one.start_s < ready:
            yield f"Stop {one.stop_id} begins at {one.start_s}; nobody is ready before {ready}."
        if one.travel_s != leg:
            yield f"Stop {one.stop_id}: {one.travel_s} s of driving noted, {leg} s driven."
        if one.arrive_s != arrive:
            yield f"Stop {one.stop_id}: arrival noted {one.arrive_s}, is {arrive}."
        free = one.end_s
    _, home = _door(free, legs[-1], _meal(day, route, free, route.return_s))
    if route.return_s != home:
        yield f"{route.technician}: return noted {route.return_s}, is {home}."
    if home > day.end_s:
        yield f"{route.technician} is back at {home}, after the shift ends at {day.end_s}."


def _meal(day: TechnicianDay, route: PlannedRoute, begin: int, end: int) -> tuple[int, int] | None:
    """Start and length of lunch when all of it lies between two moments."""
    if day.lunch is None or route.lunch_start_s is None:
        return None
    inside = begin <= route.lunch_start_s and route.lunch_start_s + day.lunch.duration_s <= end
    return (route.lunch_start_s, day.lunch.duration_s) if inside else None


def _door(free: int, leg: int, meal: tuple[int, int] | None) -> tuple[int, int]:
    """Arrival and readiness: lunch on the road delays both, lunch at the door only the second."""
    if meal is None:
        return free + leg, free + leg
    begins, length = meal
    on_the_road = begins - free < leg
    arrive = free + leg + (length if on_the_road else 0)
    return arrive, arrive if on_the_road else begins + length


def _lunch(day: TechnicianDay, route: PlannedRoute) -> Iterator[str]:
    begins, meal = route.lunch_start_s, day.lunch
    if meal is None:
        if begins is not None:
            yield f"{route.technician} has no lunch to keep, the route notes one."
        return
    if begins is None:
        yield f"{route.technician}: lunch is missing."
        return
    if not meal.earliest_s <= begins <= meal.latest_s or begins < day.start_s:
        yield f"{route.technician}: lunch begins at {begins}, outside its hours."
    ends = begins + meal.duration_s
    if any(one.start_s < ends and begins < one.end_s for one in route.stops):
        yield f"{route.technician}: lunch at {begins} interrupts a service."
    if ends > route.return_s:
        yield f"{route.technician}: lunch at {begins} is not over when the route ends."
