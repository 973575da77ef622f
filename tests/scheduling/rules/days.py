"""Small days for the tests, and a reader of the published instances."""

from __future__ import annotations

from itertools import pairwise
from math import hypot
from pathlib import Path

from hypothesis import strategies as st

from scheduling.rules.routing.plan import Plan, PlannedRoute, PlannedStop
from scheduling.rules.routing.problem import (
    Break,
    PlanningProblem,
    Stop,
    TechnicianDay,
    Window,
)

DATA = Path(__file__).parent / "data"
HOUR, MINUTE = 3600, 60
LUNCH = Break(11 * HOUR + 30 * MINUTE, 13 * HOUR + 30 * MINUTE, 30 * MINUTE)


def line_matrix(places: list[int]) -> tuple[tuple[int, ...], ...]:
    """Places on one road, as minutes from its beginning."""
    return tuple(tuple(abs(a - b) * MINUTE for b in places) for a in places)


def a_day(name: str = "Ada", lunch: Break | None = LUNCH, **changes: object) -> TechnicianDay:
    facts: dict[str, object] = {
        "start_location": 0,
        "end_location": 0,
        "start_s": 8 * HOUR,
        "end_s": 17 * HOUR,
    }
    return TechnicianDay(technician=name, lunch=lunch, **(facts | changes))  # type: ignore[arg-type]


@st.composite
def problems(draw: st.DrawFn, most_stops: int = 5, most_days: int = 2) -> PlanningProblem:
    """Days of a few stops with hard windows, skills, promises and lunch."""
    count = draw(st.integers(1, most_stops))
    size = count + 1
    cells = draw(st.lists(st.integers(0, 80), min_size=size * size, max_size=size * size))
    matrix = tuple(
        tuple(0 if a == b else cells[a * size + b] * MINUTE for b in range(size))
        for a in range(size)
    )
    names = ["Ada", "Ben"][: draw(st.integers(1, most_days))]
    days = tuple(draw(technician_days(name)) for name in names)
    stops = tuple(draw(stops_at(place, names)) for place in range(1, size))
    return PlanningProblem(stops, days, matrix, seed=draw(st.integers(0, 3)))


@st.composite
def technician_days(draw: st.DrawFn, name: str) -> TechnicianDay:
    start = draw(st.integers(14, 20)) * 30 * MINUTE
    end = start + draw(st.integers(6, 20)) * 30 * MINUTE
    eat = draw(st.integers(20, 26)) * 30 * MINUTE
    lunch = Break(eat, eat + draw(st.integers(0, 4)) * 15 * MINUTE, 30 * MINUTE)
    skills = frozenset(draw(st.sets(st.sampled_from(["7A", "7B"]))))
    return TechnicianDay(name, 0, 0, start, end, skills, lunch if draw(st.booleans()) else None)


@st.composite
def stops_at(draw: st.DrawFn, place: int, names: list[str]) -> Stop:
    opens = draw(st.lists(st.integers(7, 17), max_size=2, unique=True))
    windows = tuple(Window(h * HOUR, h * HOUR + draw(st.integers(0, 8)) * 1800) for h in opens)
    return Stop(
        id=f"s{place}",
        location=place,
        # a visit is never without work: booking takes five minutes at least
        service_s=draw(st.integers(1, 8)) * 15 * MINUTE,
        windows=windows,
        required_skills=frozenset(draw(st.sets(st.sampled_from(["7A"])))),
        fixed_technician=draw(st.sampled_from([None, None, *names])),
        priority=draw(st.integers(1, 3)),
    )


def solomon(name: str, vehicles: int) -> PlanningProblem:
    """A published instance in tenths: distances cut to one decimal, then times ten.

    Demands are not read: capacity is no rule of ours.
    """
    lines = (DATA / f"{name}.txt").read_text().splitlines()
    rows = [[int(cell) for cell in line.split()] for line in lines[9:] if line.split()]
    matrix = tuple(tuple(int(10 * hypot(a[1] - b[1], a[2] - b[2])) for b in rows) for a in rows)
    stops = tuple(
        Stop(str(row[0]), row[0], row[6] * 10, (Window(row[4] * 10, row[5] * 10),))
        for row in rows[1:]
    )
    days = tuple(
        TechnicianDay(str(n), 0, 0, rows[0][4] * 10, rows[0][5] * 10) for n in range(vehicles)
    )
    return PlanningProblem(stops, days, matrix)


def published_routes(name: str) -> tuple[list[list[str]], float]:
    """The best-known routes of an instance, and their cost as the file states it."""
    lines = (DATA / f"{name}.sol").read_text().splitlines()
    routes = [line.split(":")[1].split() for line in lines if line.startswith("Route")]
    cost = next(float(line.split()[1]) for line in lines if line.startswith("Cost"))
    return routes, cost


def plan_of(problem: PlanningProblem, orders: list[list[str]]) -> Plan:
    """A plan with these orders and the plainest times, without lunch."""
    routes = [_timed(problem, day, order) for day, order in zip(problem.days, orders, strict=False)]
    return Plan(tuple(routes))


def _timed(problem: PlanningProblem, day: TechnicianDay, order: list[str]) -> PlannedRoute:
    now, place, stops = day.start_s, day.start_location, []
    for name in order:
        stop = next(one for one in problem.stops if one.id == name)
        drive = problem.travel_s[place][stop.location]
        opens = [window.open_s for window in stop.windows]
        start = max([now + drive, *opens])
        stops.append(PlannedStop(name, drive, now + drive, start, start + stop.service_s))
        now, place = start + stop.service_s, stop.location
    line = [day.start_location, *(int(name) for name in order), day.end_location]
    travel = sum(problem.travel_s[a][b] for a, b in pairwise(line))
    home = now + problem.travel_s[place][day.end_location]
    return PlannedRoute(day.technician, tuple(stops), None, home, travel)
