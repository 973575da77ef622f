"""Insertion and building against brute force over every order and every lunch."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, permutations, product

import pytest
from hypothesis import given, settings

from scheduling.rules.routing.build import solve
from scheduling.rules.routing.insert import Insertion, best_by_technician, cheapest, insert
from scheduling.rules.routing.plan import REASON_SENTENCES, Plan, Reason, Unassigned, cost_s
from scheduling.rules.routing.problem import (
    Break,
    PlanningProblem,
    Stop,
    TechnicianDay,
    Window,
)
from scheduling.rules.routing.timing import schedule
from scheduling.rules.routing.verify import verify
from tests.scheduling.rules.days import HOUR, LUNCH, MINUTE, a_day, line_matrix, problems


def walk(problem: PlanningProblem, day: TechnicianDay, order: tuple[str, ...], eat: int | None):
    """The end of the day when lunch begins at `eat`, minute by minute; None when it breaks."""
    stops = {stop.id: stop for stop in problem.stops}
    places = [day.start_location, *(stops[name].location for name in order), day.end_location]
    legs = [problem.travel_s[a][b] for a, b in pairwise(places)]
    now = day.start_s
    for name, leg in zip(order, legs, strict=False):
        now, eat = drive(day, now, leg, eat)
        now, eat = wait(day, stops[name], now, eat)
        now += stops[name].service_s
        if now > 40 * HOUR or (eat is not None and eat < now):
            return None
    now, eat = drive(day, now, legs[-1], eat)
    if eat is not None:
        now = eat + day.lunch.duration_s
    return now if now <= day.end_s else None


def drive(day: TechnicianDay, now: int, left: int, eat: int | None) -> tuple[int, int | None]:
    while left:
        if now == eat:
            now, eat = now + day.lunch.duration_s, None
        else:
            now, left = now + MINUTE, left - MINUTE
    return now, eat


def wait(day: TechnicianDay, stop: Stop, now: int, eat: int | None) -> tuple[int, int | None]:
    """Stand at the door until the service can begin and no lunch falls into it."""
    while now <= 40 * HOUR:
        begins = not stop.windows or any(w.open_s <= now <= w.close_s for w in stop.windows)
        if now == eat:
            now, eat = now + day.lunch.duration_s, None
        elif begins and not (eat is not None and now < eat < now + stop.service_s):
            return now, eat
        else:
            now += MINUTE
    return now, eat


def lunches(day: TechnicianDay) -> list[int | None]:
    if day.lunch is None:
        return [None]
    return list(range(day.lunch.earliest_s, day.lunch.latest_s + 1, MINUTE))


def brute_end(problem: PlanningProblem, day: TechnicianDay, order: tuple[str, ...]) -> int | None:
    ends = [walk(problem, day, order, eat) for eat in lunches(day)]
    return min((end for end in ends if end is not None), default=None)


@settings(max_examples=150, deadline=None)
@given(problems(most_stops=4, most_days=1))
def test_the_times_of_an_order_are_the_earliest_there_are(problem: PlanningProblem) -> None:
    order = tuple(stop.id for stop in problem.stops)
    route = schedule(problem, problem.days[0], order)
    assert (route.return_s if route else None) == brute_end(problem, problem.days[0], order)


def driven(problem: PlanningProblem, day: TechnicianDay, order: tuple[str, ...]) -> int:
    where = {stop.id: stop.location for stop in problem.stops}
    line = [day.start_location, *(where[name] for name in order), day.end_location]
    return sum(problem.travel_s[a][b] for a, b in pairwise(line)) if order else 0


@settings(max_examples=100, deadline=None)
@given(problems(most_stops=4, most_days=2))
def test_one_stop_goes_where_brute_force_puts_it(problem: PlanningProblem) -> None:
    *others, last = problem.stops
    base = solve(replace(problem, stops=tuple(others)))
    place = cheapest(problem, base, last.id)
    costs = []
    for day in problem.days:
        if last.fixed_technician not in (None, day.technician):
            continue
        if not last.required_skills <= day.skills:
            continue
        route = base.route_of(day.technician)
        old = route.stop_ids if route else ()
        for spot in range(len(old) + 1):
            order = (*old[:spot], last.id, *old[spot:])
            if brute_end(problem, day, order) is not None:
                costs.append(driven(problem, day, order) - driven(problem, day, old))
    if isinstance(place, Insertion):
        assert place.added_travel_s == min(costs)
    else:
        assert costs == []


def promises_broken(problem: PlanningProblem, plan: Plan) -> int:
    stops = {stop.id: stop for stop in problem.stops}
    return sum(stops[gone.stop_id].fixed_technician is not None for gone in plan.unassigned)


@settings(max_examples=200, deadline=None)
@given(problems(most_stops=6))
def test_whatever_is_built_holds_and_names_every_stop(problem: PlanningProblem) -> None:
    plan = solve(problem, iterations=15)
    assert verify(problem, plan) == ()
    first = solve(problem)
    assert promises_broken(problem, plan) <= promises_broken(problem, first)
    if promises_broken(problem, plan) == promises_broken(problem, first):
        assert cost_s(problem, plan) <= cost_s(problem, first)
    assert all(gone.sentence == REASON_SENTENCES[gone.reason] for gone in plan.unassigned)


@settings(max_examples=100, deadline=None)
@given(problems(most_stops=6))
def test_the_same_seed_and_count_give_the_same_plan(problem: PlanningProblem) -> None:
    assert solve(problem, iterations=10) == solve(problem, iterations=10)


@settings(max_examples=100, deadline=None)
@given(problems(most_stops=6))
def test_inserting_moves_no_other_stop_out_of_order(problem: PlanningProblem) -> None:
    *others, last = problem.stops
    base = solve(replace(problem, stops=tuple(others)))
    after = insert(problem, base, last.id)
    if isinstance(after, Unassigned):
        return
    for day in problem.days:
        old, new = base.route_of(day.technician), after.route_of(day.technician)
        kept = tuple(name for name in (new.stop_ids if new else ()) if name != last.id)
        assert kept == (old.stop_ids if old else ())


@settings(max_examples=60, deadline=None)
@given(problems(most_stops=4, most_days=1))
def test_no_plan_beats_the_best_of_all_orders(problem: PlanningProblem) -> None:
    day = problem.days[0]
    able = [s.id for s in problem.stops if s.required_skills <= day.skills]
    feasible = [order for order in permutations(able) if brute_end(problem, day, order) is not None]
    plan = solve(problem, iterations=60)
    if len(able) == len(problem.stops) and not plan.unassigned:
        assert plan.travel_s >= min(driven(problem, day, order) for order in feasible)
    if able and not feasible:
        assert plan.unassigned


def small(*stops: Stop, places: list[int], **changes: object) -> PlanningProblem:
    return PlanningProblem(stops, (a_day(**changes),), line_matrix(places))  # type: ignore[arg-type]


def reason(problem: PlanningProblem) -> Reason:
    return solve(problem).unassigned[0].reason


def test_each_reason_is_the_one_that_stands_in_the_way() -> None:
    stop = Stop("a", 1, HOUR)
    assert reason(PlanningProblem((stop,), (), line_matrix([0, 5]))) is Reason.NO_TECHNICIAN
    away = replace(stop, fixed_technician="Ben")
    assert reason(small(away, places=[0, 5])) is Reason.TECHNICIAN_AWAY
    skilled = replace(stop, required_skills=frozenset({"7B"}))
    assert reason(small(skilled, places=[0, 5])) is Reason.NO_SKILL
    assert reason(small(stop, places=[0, 300])) is Reason.TOO_FAR
    early = replace(stop, windows=(Window(7 * HOUR, 8 * HOUR),))
    assert reason(small(early, places=[0, 5])) is Reason.WINDOW_CLOSED
    long = Stop("a", 1, 5 * HOUR, (Window(9 * HOUR, 9 * HOUR),))
    assert reason(small(long, places=[0, 5])) is Reason.LUNCH
    other = Stop("b", 2, 8 * HOUR)
    full = small(Stop("a", 1, 8 * HOUR), other, places=[0, 5, 10], lunch=None)
    assert reason(full) is Reason.SHIFT_FULL


def test_one_stop_is_timed_by_hand() -> None:
    # 8:00 leave, 30 min drive, work 8:30 to 11:30, lunch 11:30 to 12:00, home 12:30.
    route = schedule(small(Stop("a", 1, 3 * HOUR), places=[0, 30]), a_day(), ("a",))
    assert route is not None
    assert (route.stops[0].start_s, route.lunch_start_s) == (
        8 * HOUR + 30 * MINUTE,
        11 * HOUR + 30 * MINUTE,
    )
    assert route.return_s == 12 * HOUR + 30 * MINUTE
    assert route.travel_s == 60 * MINUTE


def test_the_choice_of_technicians_is_cheapest_first() -> None:
    days = (a_day("Ada"), a_day("Ben", start_location=1, end_location=1))
    problem = PlanningProblem((Stop("a", 2, HOUR),), days, line_matrix([0, 30, 40]))
    found = best_by_technician(problem, Plan(), "a")
    assert [(place.technician, place.added_travel_s // MINUTE) for place in found] == [
        ("Ben", 20),
        ("Ada", 80),
    ]


def test_a_standing_plan_keeps_its_order() -> None:
    stops = (Stop("a", 1, HOUR), Stop("b", 2, HOUR))
    problem = small(*stops, places=[0, 10, 20])
    first = solve(problem)
    grown = replace(problem, stops=(*stops, Stop("c", 1, HOUR)))
    again = solve(grown, start=first)
    kept = [name for name in again.routes[0].stop_ids if name != "c"]
    assert kept == list(first.routes[0].stop_ids)
    assert solve(problem, start=first) == first


def test_a_standing_plan_of_yesterdays_facts_is_used_as_far_as_it_holds() -> None:
    stops = (Stop("a", 1, HOUR), Stop("b", 2, HOUR))
    problem = small(*stops, places=[0, 10, 20])
    old = solve(problem)
    moved = replace(problem, stops=(replace(stops[0], fixed_technician="Ben"), stops[1]))
    plan = solve(moved, start=old)
    assert verify(moved, plan) == ()
    assert [gone.reason for gone in plan.unassigned] == [Reason.TECHNICIAN_AWAY]


def test_a_clock_ends_the_search_and_says_so() -> None:
    problem = small(Stop("a", 1, HOUR), places=[0, 10])
    ticks = iter(range(100))
    plan = solve(problem, iterations=50, wall_limit_s=3, clock=lambda: next(ticks))
    assert not plan.complete and verify(problem, plan) == ()
    assert solve(problem, iterations=50).complete


def test_nothing_to_do_is_an_empty_plan() -> None:
    assert solve(PlanningProblem((), (), ()), iterations=5) == Plan()
    assert solve(small(places=[0])) == Plan()


STOP = Stop("a", 1, HOUR)
DAY = a_day()


@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: Window(10, 5), "before it opens"),
        (lambda: Window(-1, 5), "whole seconds"),
        (lambda: Window(0, 2 * 10**12), "whole seconds"),
        (lambda: Stop("a", 0, -1), "service of -1"),
        (lambda: Stop("a", 0, 1, priority=101), "priority"),
        (lambda: Stop("a", 0, 1, penalty_s=-1), "penalty"),
        (lambda: Break(10, 5, 1), "begin before"),
        (lambda: a_day(start_s=5, end_s=5), "ends before it begins"),
        (lambda: PlanningProblem((STOP, STOP), (DAY,), line_matrix([0, 1])), "given twice"),
        (lambda: PlanningProblem((STOP,), (DAY, DAY), line_matrix([0, 1])), "given twice"),
        (lambda: PlanningProblem((STOP,), (DAY,), ((0,),)), "not a row"),
        (lambda: PlanningProblem((), (), ((0, 1),)), "not square"),
        (lambda: PlanningProblem((), (), ((0, -1), (1, 0))), "holds -1"),
        (lambda: PlanningProblem((), (), ((0, 1.9), (1, 0))), "holds 1.9"),
        (lambda: PlanningProblem((), (), ((0, float("nan")), (1, 0))), "holds nan"),
        (lambda: PlanningProblem((), (), ((1,),)), "diagonal"),
    ],
)
def test_a_problem_that_makes_no_sense_is_refused(make: object, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        make()  # type: ignore[operator]


def dense_stop(spot: int) -> Stop:
    opens = (8 + spot % 4 * 2) * HOUR
    windows = (Window(opens, opens + 2 * HOUR),) if spot % 5 < 3 else ()
    return Stop(f"s{spot}", spot, (20 + spot % 5 * 10) * MINUTE, windows)


def test_the_lunch_stress_of_dense_windows_breaks_no_lunch() -> None:
    """Sixty percent of the stops in two-hour windows (a case of our own)."""
    places = [0, *((spot * 37) % 45 for spot in range(1, 41))]
    stops = tuple(dense_stop(spot) for spot in range(1, 41))
    for seed, names in product(range(3), (("Ada",), ("Ada", "Ben", "Cy", "Di"))):
        days = tuple(a_day(name, LUNCH) for name in names)
        problem = PlanningProblem(stops, days, line_matrix(places), seed)
        plan = solve(problem, iterations=30)
        assert verify(problem, plan) == ()
        assert all(route.lunch_start_s is not None for route in plan.routes)
        assert len(plan.routes) == len(names)


def test_no_saving_breaks_a_promise() -> None:
    """Two stops of which one fits: the promised one stays, though the other is far cheaper."""
    window = (Window(9 * HOUR, 9 * HOUR),)
    promised = Stop("a", 1, HOUR, window, fixed_technician="Ada", penalty_s=0)
    other = Stop("b", 2, HOUR, window, priority=3)
    plan = solve(small(promised, other, places=[0, 50, 1]), iterations=50)
    assert plan.routes[0].stop_ids == ("a",)
    assert [gone.stop_id for gone in plan.unassigned] == ["b"]
