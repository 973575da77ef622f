"""The independent check against published plans and against broken ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.rules.routing.build import solve
from scheduling.rules.routing.plan import Plan, Reason, Unassigned
from scheduling.rules.routing.problem import Break, PlanningProblem, Stop, Window
from scheduling.rules.routing.verify import travel_total_s, verify
from tests.scheduling.rules.days import (
    HOUR,
    MINUTE,
    a_day,
    line_matrix,
    plan_of,
    published_routes,
    solomon,
)

# Source: CVRPLIB best-known values, one-decimal convention (read).
BEST_KNOWN = {"C101": (10, 8273), "R101": (20, 16377)}


@pytest.mark.parametrize("name", BEST_KNOWN)
def test_the_best_known_plan_is_accepted_at_its_published_cost(name: str) -> None:
    vehicles, tenths = BEST_KNOWN[name]
    problem, (orders, cost) = solomon(name, vehicles), published_routes(name)
    plan = plan_of(problem, orders)
    assert verify(problem, plan) == ()
    assert travel_total_s(problem, plan) == tenths == round(cost * 10)


@pytest.mark.parametrize("name", BEST_KNOWN)
def test_changes_to_the_best_known_plan_are_rejected(name: str) -> None:
    problem, (orders, _) = solomon(name, BEST_KNOWN[name][0]), published_routes(name)
    first = orders[0]
    swapped = [[first[-1], *first[1:-1], first[0]], *orders[1:]]
    doubled = [[*first, orders[1][0]], *orders[1:]]
    dropped = [first[1:], *orders[1:]]
    assert any("begins at" in line for line in verify(problem, plan_of(problem, swapped)))
    assert any("named 2 times" in line for line in verify(problem, plan_of(problem, doubled)))
    assert verify(problem, plan_of(problem, dropped)) == (f"Stop {first[0]} is missing.",)


@pytest.mark.parametrize("name", BEST_KNOWN)
def test_our_own_plan_holds_and_never_beats_the_best_known(name: str) -> None:
    problem = solomon(name, 25)
    plan = solve(problem, iterations=20)
    assert verify(problem, plan) == ()
    if not plan.unassigned:
        assert plan.travel_s >= BEST_KNOWN[name][1]


def two_stops() -> tuple[PlanningProblem, Plan]:
    stops = (
        Stop("a", 1, HOUR, (Window(9 * HOUR, 10 * HOUR),), frozenset({"7A"}), "Ada"),
        Stop("b", 2, HOUR, (Window(10 * HOUR, 11 * HOUR),)),
    )
    days = (a_day("Ada", skills=frozenset({"7A"})), a_day("Ben"))
    problem = PlanningProblem(stops, days, line_matrix([0, 10, 30]))
    return problem, solve(problem)


def broken(**changes: object) -> tuple[str, ...]:
    problem, plan = two_stops()
    route = replace(plan.routes[0], **changes)  # type: ignore[arg-type]
    return verify(problem, replace(plan, routes=(route,)))


def test_the_plan_that_is_broken_below_holds_before() -> None:
    problem, plan = two_stops()
    assert verify(problem, plan) == ()
    assert plan.routes[0].stop_ids == ("a", "b")
    # By hand: arrive 8:10, wait to 9:00, work to 10:00, drive 20 min, work 10:20 to 11:20.
    assert [one.start_s for one in plan.routes[0].stops] == [9 * HOUR, 10 * HOUR + 20 * MINUTE]
    assert plan.routes[0].travel_s == 60 * MINUTE


def test_lunch_is_missed_moved_or_laid_over_a_service() -> None:
    assert "lunch is missing" in " ".join(broken(lunch_start_s=None))
    assert "outside its hours" in " ".join(broken(lunch_start_s=8 * HOUR + 15 * MINUTE))
    assert "interrupts a service" in " ".join(broken(lunch_start_s=11 * HOUR))
    assert "is not over" in " ".join(broken(lunch_start_s=13 * HOUR, return_s=12 * HOUR))


def test_false_sums_and_times_are_found() -> None:
    assert "of driving noted" in " ".join(broken(travel_s=1))
    assert "return noted" in " ".join(broken(return_s=16 * HOUR))
    assert "after the shift ends" in " ".join(broken(lunch_start_s=17 * HOUR, return_s=18 * HOUR))


def test_a_stop_with_the_wrong_technician_is_found() -> None:
    text = " ".join(broken(technician="Ben"))
    assert "needs a skill that Ben does not hold" in text
    assert "was promised to Ada, not Ben" in text
    assert broken(technician="Cy") == ("Cy does not work on this day.",)


def test_unknown_stops_and_stops_both_planned_and_left_out_are_found() -> None:
    problem, plan = two_stops()
    ghost = replace(plan, unassigned=(Unassigned("z", Reason.SHIFT_FULL),))
    assert verify(problem, ghost) == ("Stop z is not in the problem.",)
    twice = replace(plan, unassigned=(Unassigned("a", Reason.SHIFT_FULL),))
    assert verify(problem, twice) == ("Stop a is named 2 times.",)
    doubled = replace(plan, routes=plan.routes * 2)
    assert "Ada has 2 routes." in verify(problem, doubled)


def test_a_service_cut_short_is_found() -> None:
    problem, plan = two_stops()
    first, last = plan.routes[0].stops
    short = replace(plan.routes[0], stops=(first, replace(last, end_s=last.end_s - 60)))
    assert "the service is not 3600 s long" in " ".join(
        verify(problem, replace(plan, routes=(short,)))
    )


def broken_stop(spot: int, **changes: object) -> str:
    problem, plan = two_stops()
    stops = list(plan.routes[0].stops)
    stops[spot] = replace(stops[spot], **changes)  # type: ignore[arg-type]
    route = replace(plan.routes[0], stops=tuple(stops))
    return " ".join(verify(problem, replace(plan, routes=(route,))))


def test_a_false_drive_arrival_or_begin_of_one_stop_is_found() -> None:
    assert "Stop b: 60 s of driving noted, 1200 s driven." in broken_stop(1, travel_s=60)
    assert f"Stop b: arrival noted 60, is {10 * HOUR + 1200}." in broken_stop(1, arrive_s=60)
    early = broken_stop(1, start_s=10 * HOUR + 600, end_s=11 * HOUR + 600)
    assert "nobody is ready before" in early
    late = broken_stop(1, start_s=11 * HOUR + 60, end_s=12 * HOUR + 60)
    assert "outside its windows" in late


def test_lunch_at_the_moment_of_arrival_is_eaten_at_the_door() -> None:
    # 8:00 leave, 3 h 30 min drive, arrive 11:30, lunch to 12:00, work 12:00 to 13:00, home 16:30.
    problem = PlanningProblem((Stop("a", 1, HOUR),), (a_day(),), line_matrix([0, 210]))
    plan = solve(problem)
    (one,) = plan.routes[0].stops
    assert verify(problem, plan) == ()
    assert (one.arrive_s, one.start_s) == (11 * HOUR + 1800, 12 * HOUR)
    assert plan.routes[0].return_s == 16 * HOUR + 1800
    eager = replace(one, start_s=one.arrive_s + 60, end_s=one.arrive_s + 60 + HOUR)
    route = replace(plan.routes[0], stops=(eager,))
    assert "interrupts a service" in " ".join(verify(problem, replace(plan, routes=(route,))))


def test_lunch_before_the_shift_is_no_lunch() -> None:
    meal = Break(7 * HOUR, 13 * HOUR, 1800)
    problem = PlanningProblem((Stop("a", 1, HOUR),), (a_day(lunch=meal),), line_matrix([0, 10]))
    plan = solve(problem)
    assert verify(problem, plan) == () and plan.routes[0].lunch_start_s == 8 * HOUR
    route = replace(plan.routes[0], lunch_start_s=7 * HOUR)
    assert "outside its hours" in " ".join(verify(problem, replace(plan, routes=(route,))))
