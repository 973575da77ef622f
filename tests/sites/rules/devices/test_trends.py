"""Trends against a count by hand and against a plain count of the same rows."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.devices.trends import Seen, by_device, by_month, by_pest, by_round

FIRST, SECOND = date(2026, 10, 30), date(2026, 11, 2)
SEEN = [
    Seen(1, "a", FIRST, "activity", {"Mouse": 2}),
    Seen(2, "a", FIRST, "no_activity", eaten=0),
    Seen(3, "a", FIRST, "missing"),
    Seen(2, "a", FIRST, "activity", {"Mouse": 1, "Ant": 4}, eaten=3),  # corrects the one before
    Seen(1, "b", SECOND, "no_activity"),
    Seen(2, "b", SECOND, "activity", eaten=2),
    Seen(3, "b", SECOND, "skipped"),
]


def test_by_round_the_last_answer_of_a_device_counts() -> None:
    first, second = by_round(SEEN)
    assert (first.words, first.checked, first.active, first.unseen) == ("Oct 30, 2026", 2, 2, 1)
    assert first.counts == {"Mouse": 3, "Ant": 4} and first.counts_words == "4 Ant, 3 Mouse"
    assert (first.share_words, first.eaten_words) == ("2 of 2, 100 %", "3/4 of 1")
    assert (second.share, second.share_words) == (Fraction(1, 2), "1 of 2, 50 %")
    assert (second.caught, second.counts_words, second.eaten_words) == (0, "none", "1/2 of 1")


def test_by_month_device_and_pest() -> None:
    assert [(one.words, one.checked) for one in by_month(SEEN)] == [
        ("Oct 2026", 2),
        ("Nov 2026", 2),
    ]
    two = by_device(SEEN)[1]
    assert (two.words, two.checked, two.active, two.eaten_words) == ("Device 2", 2, 2, "1 1/4 of 2")
    assert by_pest(SEEN) == (("Ant", 4, 1), ("Mouse", 3, 2))
    three = by_device(SEEN)[2]
    assert (three.checked, three.unseen, three.share_words) == (0, 2, "none looked at")


def test_nothing_seen() -> None:
    assert by_round([]) == by_month([]) == by_device([]) == by_pest([]) == ()


ROWS = st.lists(
    st.builds(
        lambda device, day, outcome, ants: Seen(
            device,
            str(day),
            FIRST + timedelta(days=day),
            outcome,
            {"Ant": ants} if outcome == "activity" else {},
        ),
        st.integers(1, 5),
        st.integers(0, 60),
        st.sampled_from(["activity", "no_activity", "missing", "no_access", "skipped"]),
        st.integers(1, 9),
    ),
    max_size=30,
    unique_by=lambda one: (one.device, one.round_key),
)


@given(ROWS)
@settings(max_examples=50)
def test_rounds_months_and_devices_add_up_to_the_same(rows: list[Seen]) -> None:
    ants = sum(one.counts.get("Ant", 0) for one in rows)
    plain = Counter(one.outcome for one in rows)
    looked = plain["activity"] + plain["no_activity"]
    for tallies in (by_round(rows), by_month(rows), by_device(rows)):
        assert sum(one.caught for one in tallies) == ants
        assert sum(one.checked for one in tallies) == looked
        assert sum(one.active for one in tallies) == plain["activity"]
        assert sum(one.checked + one.unseen for one in tallies) == len(rows)
