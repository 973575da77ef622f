"""Renewals: fewest visits against brute force, reasons in words, bare days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rules.renewals import (
    Interval,
    WindowFacts,
    bare_days,
    bare_spans,
    days_left,
    fewest_visits,
    plan_renewals,
    renewal_interval,
    window_reason,
)

TODAY = date(2026, 7, 20)
# A 90-day claim from May 12 lapses Aug 10: 19 days of May, 30, 31, 10 of August.
WALL = WindowFacts(
    1, 11, "Foundation wall", 7, date(2026, 5, 12), date(2026, 5, 26), date(2026, 8, 10), 90
)


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


intervals = st.lists(
    st.tuples(st.integers(0, 12), st.integers(0, 6)).map(
        lambda pair: Interval(day(pair[0]), day(pair[0] + pair[1]))
    ),
    max_size=8,
)


def brute_fewest(spans: list[Interval]) -> int:
    days = sorted({span.latest for span in spans} | {span.earliest for span in spans})
    for count in range(len(spans) + 1):
        for chosen in combinations(days, count):
            if all(any(span.holds(one) for one in chosen) for span in spans):
                return count
    raise AssertionError("every interval holds its own last day")


@settings(max_examples=400)
@given(intervals)
def test_no_fewer_visits_serve_all_zones(spans: list[Interval]) -> None:
    groups = fewest_visits(spans)
    assert len(groups) == brute_fewest(spans)
    assert sorted(spot for group in groups for spot in group.members) == list(range(len(spans)))
    assert all(spans[spot].holds(group.day) for group in groups for spot in group.members)


@given(st.integers(-400, 400), st.integers(-400, 400), st.integers(0, 60))
def test_an_interval_is_never_empty_and_never_past(opens: int, expires: int, margin: int) -> None:
    span = renewal_interval(day(opens), day(expires), TODAY, margin)
    assert TODAY <= span.earliest <= span.latest
    assert span.earliest >= day(opens)


def test_an_interval_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="before it begins"):
        Interval(day(1), day(0))


def test_the_reason_names_claim_day_and_lapse() -> None:
    assert window_reason(WALL, TODAY) == (
        "Foundation wall: 90 d label claim from May 12, lapses Aug 10"
    )
    assert window_reason(WALL, date(2026, 8, 10)).endswith("lapsed Aug 10")
    assert window_reason(WALL, date(2027, 1, 5)).endswith("from May 12, 2026, lapsed Aug 10, 2026")


def test_the_reason_names_what_shortened_the_claim_and_where_it_came_from() -> None:
    short = replace(WALL, expires_on=date(2026, 7, 11), factor_text="full sun 0.67")
    assert "90 d label claim, 60 d after full sun 0.67 from May 12" in window_reason(short, TODAY)
    told = replace(WALL, claim_words="residual in the firm's spreadsheet")
    assert "90 d residual in the firm's spreadsheet from May 12" in window_reason(told, TODAY)


def test_the_reason_says_when_the_label_keeps_the_zone_bare() -> None:
    late = replace(WALL, opens_on=date(2026, 9, 1))
    assert window_reason(late, TODAY).endswith(
        "lapses Aug 10, stays lapsed until Sep 1: the label forbids coming earlier"
    )


@pytest.mark.parametrize("opens_on", [date(2026, 8, 1), date(2026, 8, 10)])
def test_a_return_that_is_allowed_in_time_is_not_mentioned(opens_on: date) -> None:
    assert window_reason(replace(WALL, opens_on=opens_on), TODAY).endswith("lapses Aug 10")
    over = replace(WALL, opens_on=date(2026, 9, 1))
    assert window_reason(over, date(2026, 9, 1)).endswith("lapsed Aug 10")


def test_one_zone_opens_one_renewal_thirty_days_before_it_lapses() -> None:
    assert plan_renewals([WALL], date(2026, 7, 10)) == ()  # 31 days left
    (found,) = plan_renewals([WALL], date(2026, 7, 11))  # 30 days left
    assert (found.property_id, found.window_ids, found.zone_ids) == (7, (1,), (11,))
    assert (found.opens_on, found.due_on, found.lapses_on) == (
        date(2026, 7, 11),
        date(2026, 8, 3),
        date(2026, 8, 10),
    )
    assert found.reason == "Foundation wall: 90 d label claim from May 12, lapses Aug 10"


def band(**changes: object) -> WindowFacts:
    facts = replace(WALL, window_id=2, zone_id=12, zone_name="Soil band")
    return replace(facts, **changes)  # type: ignore[arg-type]


def test_zones_that_one_visit_serves_are_one_renewal() -> None:
    (found,) = plan_renewals([WALL, band(expires_on=date(2026, 8, 15))], TODAY)
    assert found.window_ids == (1, 2)
    assert found.due_on == date(2026, 8, 3)
    assert found.lapses_on == date(2026, 8, 10)
    assert found.reason.count("; ") == 1


def test_a_zone_rides_along_only_when_it_lapses_soon_and_may_be_treated() -> None:
    # due Aug 3: 45 days later is Sep 17
    rider = band(expires_on=date(2026, 9, 17))
    assert plan_renewals([WALL, rider], TODAY)[0].window_ids == (1, 2)
    fresh = band(expires_on=date(2026, 9, 18))
    assert plan_renewals([WALL, fresh], TODAY)[0].window_ids == (1,)
    barred = replace(rider, opens_on=date(2026, 8, 4))
    assert plan_renewals([WALL, barred], TODAY)[0].window_ids == (1,)


def test_zones_that_no_single_visit_serves_are_two_renewals() -> None:
    late = band(opens_on=date(2026, 8, 20), expires_on=date(2026, 8, 15))
    first, second = plan_renewals([WALL, late], TODAY)
    assert (first.due_on, second.due_on) == (date(2026, 8, 3), date(2026, 8, 20))


def test_two_windows_of_a_zone_are_one_zone_and_one_reason() -> None:
    (found,) = plan_renewals([WALL, replace(WALL, window_id=3)], TODAY)
    assert (found.window_ids, found.zone_ids) == ((1, 3), (11,))
    assert found.reason.count("Foundation") == 1


def test_a_window_long_lapsed_is_due_today() -> None:
    (found,) = plan_renewals([WALL], date(2027, 1, 5))
    assert (found.opens_on, found.due_on) == (date(2027, 1, 5), date(2027, 1, 5))


facts = st.builds(
    lambda window, place, applied, wait, days: WindowFacts(
        window,
        window,
        f"Zone {window}",
        place,
        day(applied),
        day(applied + wait),
        day(applied + days),
        days,
    ),
    st.integers(1, 99),
    st.integers(1, 3),
    st.integers(-120, 0),
    st.integers(0, 120),
    st.integers(1, 120),
)


@given(st.lists(facts, max_size=8, unique_by=lambda w: w.window_id))
def test_every_pressing_window_gets_one_renewal_it_may_be_treated_in(
    windows: list[WindowFacts],
) -> None:
    found = plan_renewals(windows, TODAY)
    named = [window for one in found for window in one.window_ids]
    pressing = {w.window_id for w in windows if days_left(w.expires_on, TODAY) <= 30}
    assert len(named) == len(set(named)) and pressing <= set(named)
    by_id = {w.window_id: w for w in windows}
    for one in found:
        chosen = [by_id[window] for window in one.window_ids]
        assert {w.property_id for w in chosen} == {one.property_id}
        assert all(w.opens_on <= one.opens_on <= one.due_on for w in chosen)
        assert one.lapses_on == min(w.expires_on for w in chosen)
    assert plan_renewals(windows[::-1], TODAY) == found


def test_sixty_days_on_a_cycle_of_ninety_one_leave_thirty_one_bare() -> None:
    """Plain subtraction: 60 of 91 days are covered, 31 are not."""
    cycle = [(day(start), day(start + 60)) for start in (0, 91, 182)]
    assert bare_days(cycle[:1], day(0), day(91)) == 31
    assert bare_days(cycle, day(0), day(273)) == 93
    assert bare_spans(cycle, day(0), day(182)) == ((day(60), day(91)), (day(151), day(182)))
    assert bare_spans(cycle, day(0), day(60)) == ()


@given(
    st.lists(st.tuples(st.integers(-20, 40), st.integers(0, 30)), max_size=6),
    st.integers(-10, 30),
    st.integers(0, 40),
)
def test_bare_days_are_those_a_count_day_by_day_finds(
    pairs: list[tuple[int, int]], start: int, length: int
) -> None:
    windows = [(day(a), day(a + n)) for a, n in pairs]
    counted = sum(
        not any(a <= offset < a + n for a, n in pairs) for offset in range(start, start + length)
    )
    assert bare_days(windows, day(start), day(start + length)) == counted


def test_days_left_are_counted_to_the_day_it_lapses() -> None:
    assert days_left(date(2026, 8, 10), TODAY) == 21
    assert days_left(TODAY, TODAY) == 0
    assert days_left(date(2026, 7, 13), TODAY) == -7
