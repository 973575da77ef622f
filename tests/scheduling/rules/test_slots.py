"""Ranked places against the route rules trying every place of every window (brute force)."""

from __future__ import annotations

from datetime import date, time

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules.routing.problem import Break, PlanningProblem, Stop, TechnicianDay, Window
from scheduling.rules.routing.timing import schedule
from scheduling.rules.slots import Asked, Choice, DaySheet, Fixed, Offered, rank, read_out, spread
from scheduling.rules.travel import Point, drive_seconds, travel_matrix

HOME = Point(39.96, -83.0)
MONDAY = date(2026, 12, 7)
H = 3600
LUNCH = Break(11 * H + 1800, 13 * H + 1800, 1800)
HOURS = ((8, 10), (10, 12), (12, 14), (14, 16))
WINDOWS = tuple(Offered(time(a), time(b), Window(a * H, b * H)) for a, b in HOURS)

points = st.builds(
    Point,
    st.integers(-15, 15).map(lambda n: 39.96 + n / 50),
    st.integers(-15, 15).map(lambda n: -83.0 + n / 50),
)


@st.composite
def sheets(draw: st.DrawFn) -> DaySheet:
    """A day with up to five planned visits, some of them impossible to keep."""
    free, stops = 8 * H, []
    for _ in range(draw(st.integers(0, 5))):
        start = free + draw(st.integers(0, 90)) * 60
        free = start + draw(st.integers(15, 120)) * 60
        stops.append(Fixed(draw(st.none() | points), start, free))
    lunch = draw(st.none() | st.just(LUNCH))
    return DaySheet(1, "Terry", MONDAY, HOME, 8 * H, 17 * H, lunch, tuple(stops))


def by_trying(asked: Asked, sheet: DaySheet, window: Offered) -> tuple[int, int] | None:
    """Added driving and begin of the cheapest place, by scheduling the day with every one."""
    at = [HOME, *(one.at for one in sheet.stops), asked.at]
    fixed = [
        Stop(str(n), n, one.end_s - one.start_s, (Window(one.start_s, one.start_s),))
        for n, one in enumerate(sheet.stops, start=1)
    ]
    new = Stop("new", len(at) - 1, asked.service_s, (window.span,))
    day = TechnicianDay("1", 0, 0, sheet.start_s, sheet.end_s, lunch=sheet.lunch)
    problem = PlanningProblem((*fixed, new), (day,), travel_matrix(at))
    order = [one.id for one in fixed]
    standing = schedule(problem, day, order)
    if standing is None:
        return None
    found = []
    for place in range(len(order) + 1):
        route = schedule(problem, day, [*order[:place], "new", *order[place:]])
        if route is not None:
            begin = route.stops[place].start_s
            found.append((route.travel_s - (standing.travel_s if order else 0), place, begin))
    return (min(found)[0], min(found)[2]) if found else None


@settings(max_examples=300, deadline=None)
@given(sheets(), points, st.integers(15, 150))
def test_every_window_has_the_place_that_trying_all_of_them_finds(
    sheet: DaySheet, at: Point, minutes: int
) -> None:
    asked = Asked(at, minutes * 60)
    ranked = {one.opens: one for one in rank(asked, [(sheet, WINDOWS)])}
    tried = {one.opens: by_trying(asked, sheet, one) for one in WINDOWS}
    found = {opens: place for opens, place in tried.items() if place is not None}
    assert {opens: one.added_s for opens, one in ranked.items()} == {
        opens: added for opens, (added, _) in found.items()
    }
    for opens, one in ranked.items():
        # the route rules end the day earliest, the slot begins earliest: never later, and kept
        assert one.start_s <= found[opens][1]
        exact = Offered(one.opens, one.closes, Window(one.start_s, one.start_s))
        assert by_trying(asked, sheet, exact) is not None


def _one(day: date, **more: object) -> DaySheet:
    return DaySheet(1, "Terry", day, HOME, 8 * H, 17 * H)


def test_the_cost_is_driving_and_the_house_rules_in_minutes() -> None:
    # to a place that is one drive away: there and back; 2 minutes a day too early, 1 a day after
    # good time, 15 a day lapsed, 20 outside the preferred times (house rules of the module)
    at = Point(40.1, -83.0)
    round_trip = 2 * drive_seconds(HOME, at) // 60
    asked = Asked(at, 45 * 60, good_on=date(2026, 12, 9), lapses_on=date(2026, 12, 11))
    costs = {}
    for day in range(7, 13):
        (best, *_) = rank(asked, [(_one(date(2026, 12, day)), WINDOWS[:1])])
        costs[day] = best.cost - round_trip
    assert costs == {7: 4, 8: 2, 9: 0, 10: 1, 11: 2, 12: 18}
    avoided = Offered(time(8), time(10), WINDOWS[0].span, is_preferred=False)
    (one,) = rank(asked, [(_one(date(2026, 12, 9)), [avoided])])
    assert one.cost == round_trip + 20
    assert one.reasons == (
        f"{round_trip} min more driving",
        "2 days before the lapse",
        "outside the times the customer prefers",
    )


def test_the_order_is_cost_then_day_then_hour_then_technician() -> None:
    days = [(_one(date(2026, 12, n)), WINDOWS) for n in (9, 8, 7)]
    found = rank(Asked(HOME, 1800), days)
    assert [(c.cost, c.day, c.opens) for c in found] == sorted(
        (c.cost, c.day, c.opens) for c in found
    )
    assert len(found) == 12


def test_offers_are_spread_over_days_and_said_in_a_sentence() -> None:
    days = [(_one(date(2026, 12, n)), WINDOWS) for n in (7, 8, 9, 10)]
    three: tuple[Choice, ...] = spread(rank(Asked(HOME, 1800), days), 3)
    assert [one.day.day for one in three] == [7, 8, 9]
    assert read_out(three[:2]) == (
        "We could come on Monday, Dec 7, 2026, between 8 AM and 10 AM with Terry; or on Tuesday, "
        "Dec 8, 2026, between 8 AM and 10 AM with Terry. Which suits you best?"
    )
    assert "no time free" in read_out(())
