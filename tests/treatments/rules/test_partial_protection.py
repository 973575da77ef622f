"""Zones of which wall runs were left out: what holds, against a count run by run (house rule)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.protections import OpenedWindow, protections

DAY = date(2026, 11, 25)
NORTH, REST = frozenset({"north"}), frozenset({"east", "south"})
EVERY = NORTH | REST


def opened(key: int, on: int, done: frozenset[str] = frozenset()) -> OpenedWindow:
    """A window of 90 days, `on` days later; of `done` runs only, of the whole without any."""
    day = DAY + timedelta(days=on)
    left = EVERY - done if done else frozenset()
    last = day + timedelta(days=90)
    return OpenedWindow(key, 1, "general", ("record", key), day, last, done, left)


@pytest.mark.parametrize(
    ("windows", "in_force"),
    [
        ([opened(1, 0)], 1),
        ([opened(1, 0), opened(2, 30, REST)], 1),  # the north wall still counts from day 0
        ([opened(1, 0), opened(2, 30, REST), opened(3, 37, NORTH)], 2),  # the rest lapses first
        ([opened(1, 0), opened(2, 30, REST), opened(3, 40, REST)], 1),
        ([opened(1, 0), opened(2, 30, REST), opened(3, 60)], 3),  # all of it again
        ([opened(2, 30, REST)], None),  # the north wall was never treated
        ([opened(2, 30, REST), opened(3, 37, NORTH)], 2),
    ],
)
def test_a_zone_holds_as_long_as_each_of_its_runs(
    windows: list[OpenedWindow], in_force: int | None
) -> None:
    found = protections(windows)
    assert [one.window for one in found] == ([] if in_force is None else [in_force])
    assert all(one.counts for one in found)


TREATED = st.sampled_from([frozenset(), NORTH, REST, frozenset({"east"}), frozenset({"south"})])


@given(st.lists(TREATED, min_size=1, max_size=8))
def test_the_window_in_force_is_the_first_run_to_lapse(history: list[frozenset[str]]) -> None:
    windows = [opened(number, number, done) for number, done in enumerate(history)]
    last: dict[str, date] = {}
    for window in windows:
        last |= dict.fromkeys(window.done or EVERY, window.expires_on)
    found = protections(windows)
    if set(last) < EVERY:
        assert found == []
    else:
        assert [one.expires_on for one in found] == [min(last.values())]
