"""The earliest times of a route whose order is given, with its lunch, found exactly.

Two facts are carried along the route: the earliest end of work so far with lunch still to come,
and with lunch taken. Earlier is never worse, so nothing else needs to be remembered. Lunch may
fall into a drive or a wait, never into a service.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.rules.routing.plan import PlannedRoute, PlannedStop
from scheduling.rules.routing.problem import (
    Break,
    PlanningProblem,
    Stop,
    TechnicianDay,
    Window,
)


@dataclass(frozen=True)
class _Trail:
    """One way to stand at the end of some work; `before` is the way there."""

    end_s: int
    lunch_s: int | None
    before: _Trail | None = None
    stop: PlannedStop | None = None


def schedule(
    problem: PlanningProblem,
    day: TechnicianDay,
    stop_ids: Sequence[str],
    *,
    lunch: bool = True,
    windows: bool = True,
) -> PlannedRoute | None:
    """The earliest route through `stop_ids` in this order, or None when it cannot be kept.

    `lunch=False` and `windows=False` leave that rule out, to find which one stands in the way.
    """
    meal = day.lunch if lunch and stop_ids else None
    pending: _Trail | None = _Trail(day.start_s, None)
    fed: _Trail | None = None
    place = day.start_location
    for stop_id in stop_ids:
        stop = problem.stop_by_id[stop_id]
        drive = problem.travel_s[place][stop.location]
        hours = stop.windows if windows else ()
        eaten = _eat_serve(pending, stop, hours, drive, meal)
        fed = _earlier(_serve(fed, stop, hours, drive), eaten)
        pending = _serve(pending, stop, hours, drive)
        place = stop.location
    drive = problem.travel_s[place][day.end_location]
    last = (
        _home(pending, drive)
        if meal is None
        else _earlier(_home(fed, drive), _eat_home(pending, drive, meal))
    )
    if last is None or last.end_s > day.end_s:
        return None
    return _route(day, last, drive)


def _serve(
    trail: _Trail | None, stop: Stop, windows: tuple[Window, ...], drive: int
) -> _Trail | None:
    if trail is None:
        return None
    arrive = trail.end_s + drive
    return _work(trail, trail.lunch_s, stop, windows, drive, arrive, arrive)


def _eat_serve(
    trail: _Trail | None, stop: Stop, windows: tuple[Window, ...], drive: int, meal: Break | None
) -> _Trail | None:
    if trail is None or meal is None:
        return None
    begins = _lunch_start(trail.end_s, meal)
    if begins is None:
        return None
    there = trail.end_s + drive
    arrive = there if begins >= there else there + meal.duration_s
    ready = max(there, begins) + meal.duration_s
    return _work(trail, begins, stop, windows, drive, arrive, ready)


def _lunch_start(free_s: int, meal: Break) -> int | None:
    begins = max(free_s, meal.earliest_s)
    return begins if begins <= meal.latest_s else None


def _work(
    trail: _Trail,
    lunch_s: int | None,
    stop: Stop,
    windows: tuple[Window, ...],
    drive: int,
    arrive: int,
    ready: int,
) -> _Trail | None:
    start = _first_start(ready, windows)
    if start is None:
        return None
    end = start + stop.service_s
    return _Trail(end, lunch_s, trail, PlannedStop(stop.id, drive, arrive, start, end))


def _first_start(ready_s: int, windows: tuple[Window, ...]) -> int | None:
    if not windows:
        return ready_s
    starts = [max(ready_s, span.open_s) for span in windows if span.close_s >= ready_s]
    return min(starts, default=None)


def _home(trail: _Trail | None, drive: int) -> _Trail | None:
    return None if trail is None else _Trail(trail.end_s + drive, trail.lunch_s, trail)


def _eat_home(trail: _Trail | None, drive: int, meal: Break) -> _Trail | None:
    begins = None if trail is None else _lunch_start(trail.end_s, meal)
    if trail is None or begins is None:
        return None
    return _Trail(max(trail.end_s + drive, begins) + meal.duration_s, begins, trail)


def _earlier(a: _Trail | None, b: _Trail | None) -> _Trail | None:
    if a is None or b is None:
        return a or b
    return a if a.end_s <= b.end_s else b


def _route(day: TechnicianDay, last: _Trail, drive_home: int) -> PlannedRoute:
    stops: list[PlannedStop] = []
    step: _Trail | None = last
    while step is not None:
        if step.stop is not None:
            stops.append(step.stop)
        step = step.before
    stops.reverse()
    travel = drive_home + sum(stop.travel_s for stop in stops)
    return PlannedRoute(day.technician, tuple(stops), last.lunch_s, last.end_s, travel)
