"""Routes for a whole day: hardest stops first, each at its cheapest place, then improved."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from scheduling.rules.routing.insert import able_days, cheapest, with_route
from scheduling.rules.routing.plan import Plan, PlannedRoute, Reason, Unassigned, cost_s
from scheduling.rules.routing.problem import PlanningProblem, Stop
from scheduling.rules.routing.timing import schedule

# Multiplier and increment of a 64-bit linear congruential sequence (Knuth's MMIX numbers, from
# memory); only spread matters here, and the same seed must give the same plan everywhere.
STEP, SHIFT, SIZE = 6364136223846793005, 1442695040888963407, 1 << 64


def solve(
    problem: PlanningProblem,
    *,
    iterations: int = 0,
    wall_limit_s: float = 10,
    start: Plan | None = None,
    clock: Callable[[], float] | None = None,
) -> Plan:
    """A plan of the day in which every stop is planned or left out with a reason.

    `iterations` counts the attempts to improve it: the same problem, seed and count give the
    same plan. `start` keeps the order of a plan that stands. `wall_limit_s` holds only with a
    `clock` (seconds, rising), since rules read no clock; a plan cut short has
    `complete=False`.
    """
    plan = _fill(problem, _started(problem, start), _hardest_first(problem))
    ends = None if clock is None else clock() + wall_limit_s
    chance = _spread(problem.seed)
    for _ in range(iterations if problem.stops and problem.days else 0):
        if clock is not None and ends is not None and clock() >= ends:
            return replace(plan, complete=False)
        other = _shaken(problem, plan, chance)
        if _rank(problem, other) < _rank(problem, plan):
            plan = other
    return plan


def _rank(problem: PlanningProblem, plan: Plan) -> tuple[int, int]:
    """No saving is worth breaking a promise: promised stops left out count first."""
    gone = (problem.stop_by_id[one.stop_id] for one in plan.unassigned)
    return sum(stop.fixed_technician is not None for stop in gone), cost_s(problem, plan)


def _hardest_first(problem: PlanningProblem) -> list[str]:
    return [stop.id for stop in sorted(problem.stops, key=lambda s: _ease(problem, s))]


def _ease(problem: PlanningProblem, stop: Stop) -> tuple[bool, int, int, int, int, str]:
    days = able_days(problem, stop)
    choice = 0 if isinstance(days, Reason) else len(days)
    room = sum(span.close_s - span.open_s for span in stop.windows) if stop.windows else 1 << 40
    promised = stop.fixed_technician is not None
    return (not promised, -stop.priority, choice, room, -stop.service_s, stop.id)


def _started(problem: PlanningProblem, start: Plan | None) -> Plan:
    """What of the standing plan still holds, in its own order, with its times found anew."""
    plan = Plan()
    seen: set[str] = set()
    for old in start.routes if start else ():
        order = [name for name in old.stop_ids if name not in seen]
        order = [name for name in order if _may(problem, old.technician, name)]
        route = _route(problem, old.technician, order)
        if route is not None:
            plan = with_route(problem, plan, route)
            seen.update(order)
    return plan


def _may(problem: PlanningProblem, technician: str, stop_id: str) -> bool:
    stop = problem.stop_by_id.get(stop_id)
    return stop is not None and not isinstance(able_days(problem, stop, {technician}), Reason)


def _route(problem: PlanningProblem, technician: str, order: list[str]) -> PlannedRoute | None:
    day = problem.day_by_technician.get(technician)
    return schedule(problem, day, order) if day is not None and order else None


def _fill(problem: PlanningProblem, plan: Plan, stop_ids: Iterable[str]) -> Plan:
    """Insert each stop that is not planned yet, in this order; note the reason where none fits."""
    planned = {name for route in plan.routes for name in route.stop_ids}
    left_out = []
    for stop_id in stop_ids:
        if stop_id in planned:
            continue
        place = cheapest(problem, plan, stop_id)
        if isinstance(place, Unassigned):
            left_out.append(place)
        else:
            plan = with_route(problem, plan, place.route)
    return replace(plan, unassigned=tuple(left_out))


def _shaken(problem: PlanningProblem, plan: Plan, chance: Iterator[int]) -> Plan:
    """Take out one to three planned stops, try what was left out first, then put them back."""
    planned = [name for route in plan.routes for name in route.stop_ids]
    if not planned:
        return plan
    count = min(len(planned), 1 + next(chance) % 3)
    out = list(dict.fromkeys(planned[next(chance) % len(planned)] for _ in range(count)))
    bare = plan
    for route in plan.routes:
        order = [name for name in route.stop_ids if name not in out]
        if len(order) == len(route.stops):
            continue
        shorter = _shorter(problem, route.technician, order)
        if shorter is None:
            return plan
        bare = with_route(problem, bare, shorter)
    waiting = [gone.stop_id for gone in plan.unassigned]
    return _fill(problem, bare, [*waiting, *out])


def _shorter(problem: PlanningProblem, technician: str, order: list[str]) -> PlannedRoute | None:
    day = problem.day_by_technician[technician]
    # None when a drive past the missing stop is slower than by way of it and breaks a window.
    return schedule(problem, day, order) if order else PlannedRoute(technician, (), None, 0, 0)


def _spread(seed: int) -> Iterator[int]:
    state = seed % SIZE
    while True:
        state = (state * STEP + SHIFT) % SIZE
        yield state >> 33
