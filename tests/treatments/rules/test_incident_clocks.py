"""The clock of the agency notice: rows as read, hours that pass, what a moment says of it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.incident_clocks import (
    EVERY_KIND,
    RULES,
    Evidence,
    NoticeRule,
    Standing,
    clock_of,
    read_clock,
    span,
)
from treatments.rules.incidents import IncidentKind

BOSTON = ZoneInfo("America/New_York")
AT = datetime(2026, 11, 25, 14, 30, tzinfo=BOSTON)


@pytest.mark.parametrize("kind", list(IncidentKind))
def test_massachusetts_wants_to_know_within_48_hours(kind: IncidentKind) -> None:
    # 333 CMR 10.14: accidents and illness, the agency told within 48 h (read)
    clock = clock_of(kind, "MA", AT)
    assert clock.due_at == datetime(2026, 11, 27, 19, 30, tzinfo=UTC)
    assert clock.hours == 48
    assert clock.clause == "333 CMR 10.14, copy of Dec 6, 2024; read"
    assert "within 48 hours" in clock.sentence


@pytest.mark.parametrize(
    ("happened", "due"),
    [
        # clocks go back on Nov 1, 2026: 48 hours that pass end an hour earlier by the clock
        (datetime(2026, 10, 31, 12, 0), datetime(2026, 11, 2, 11, 0)),
        # and forward on Mar 8, 2026
        (datetime(2026, 3, 7, 12, 0), datetime(2026, 3, 9, 13, 0)),
        (datetime(2024, 2, 28, 12, 0), datetime(2024, 3, 1, 12, 0)),  # over Feb 29
    ],
)
def test_hours_pass_also_when_the_clocks_change(happened: datetime, due: datetime) -> None:
    clock = clock_of(IncidentKind.SPILL, "MA", happened.replace(tzinfo=BOSTON))
    assert clock.due_at == due.replace(tzinfo=BOSTON)


@pytest.mark.parametrize(
    ("state", "kind", "code", "says"),
    [
        # Ga. R. 40-21-5: spill, exposure, drift and corrective action are written down (read);
        # no time limit was read
        ("GA", IncidentKind.SPILL, "US-GA-40-21-5", "No time limit was read: ask the agency"),
        ("GA", IncidentKind.ILLNESS, "", "No rule was read for GA: ask the agency"),
        ("OH", IncidentKind.SPILL, "", "No rule was read for OH: ask the agency"),
    ],
)
def test_a_state_without_hours_has_no_clock_and_says_so(
    state: str, kind: IncidentKind, code: str, says: str
) -> None:
    clock = clock_of(kind, state, AT)
    assert (clock.code, clock.hours, clock.due_at) == (code, None, None)
    assert says in clock.sentence


def _rule(hours: int, since: date | None = None, until: date | None = None) -> NoticeRule:
    return NoticeRule(
        f"R{hours}", "ZZ", EVERY_KIND, hours, "Tell them", "clause", Evidence.READ, since, until
    )


@pytest.mark.parametrize(
    ("rules", "hours"),
    [
        ((_rule(48), _rule(24)), 24),  # the shortest holds (house rule)
        ((_rule(48), _rule(24, since=date(2026, 11, 26))), 48),  # begins a day later
        ((_rule(48), _rule(24, since=date(2026, 11, 25))), 24),  # begins that day
        ((_rule(48), _rule(24, until=date(2026, 11, 24))), 48),  # ended the day before
        ((_rule(48), _rule(24, until=date(2026, 11, 25))), 24),  # its last day
        ((_rule(24, until=date(2026, 11, 24)),), None),
    ],
)
def test_rows_count_on_their_days(rules: tuple[NoticeRule, ...], hours: int | None) -> None:
    assert clock_of(IncidentKind.DRIFT, "ZZ", AT, rules).hours == hours


def test_only_what_was_read_has_hours() -> None:
    assert all(rule.evidence == Evidence.READ for rule in RULES if rule.hours is not None)


DUE = datetime(2026, 11, 27, 19, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("given_at", "now", "standing", "words"),
    [
        (None, DUE - timedelta(hours=31, minutes=5), Standing.RUNNING, "31 h 5 min left"),
        (None, DUE, Standing.RUNNING, "0 min left"),
        (None, DUE + timedelta(minutes=1), Standing.OVER, "1 min over"),
        (None, DUE + timedelta(hours=75), Standing.OVER, "3 d 3 h over"),
        (DUE, DUE + timedelta(days=9), Standing.GIVEN, "Given in time"),
        (DUE + timedelta(hours=2), DUE + timedelta(days=9), Standing.GIVEN_LATE, "Given 2 h 0 min"),
    ],
)
def test_what_the_clock_says(
    given_at: datetime | None, now: datetime, standing: Standing, words: str
) -> None:
    reading = read_clock(DUE, given_at, now)
    assert reading.standing == standing
    assert words in reading.words
    assert reading.is_late == (standing in (Standing.OVER, Standing.GIVEN_LATE))


def test_without_a_clock_nothing_is_late() -> None:
    assert read_clock(None, None, DUE).standing == Standing.NO_CLOCK
    assert read_clock(None, DUE, DUE).standing == Standing.GIVEN


def test_a_span_counts_what_passes_over_a_change_of_clocks() -> None:
    before = datetime(2026, 11, 1, 0, 30, tzinfo=BOSTON)
    assert span(before, datetime(2026, 11, 1, 3, 30, tzinfo=BOSTON)) == "4 h 0 min"


@given(st.integers(0, 10**7), st.integers(0, 10**7))
def test_late_is_late_whenever_one_looks(given_after: int, looked_after: int) -> None:
    given_at = DUE + timedelta(seconds=given_after)
    reading = read_clock(DUE, given_at, given_at + timedelta(seconds=looked_after))
    assert reading.is_late == (given_after > 0)
