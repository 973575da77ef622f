"""When a customer is reminded: the calendar day before, also when the clocks change."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.visit_notices import (
    MOST_LETTERS,
    asks_again,
    is_reminded,
    reminder_begins,
)

EASTERN, ARIZONA, ISLANDS = "America/New_York", "America/Phoenix", "Pacific/Honolulu"
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "zone", "begins"),
    [
        # 15 U.S.C. 260a: second Sunday of March, first Sunday of November; offsets by tzdata
        (date(2026, 3, 8), EASTERN, datetime(2026, 3, 7, 14, tzinfo=UTC)),
        (date(2026, 3, 9), EASTERN, datetime(2026, 3, 8, 13, tzinfo=UTC)),
        (date(2026, 11, 1), EASTERN, datetime(2026, 10, 31, 13, tzinfo=UTC)),
        (date(2026, 11, 2), EASTERN, datetime(2026, 11, 1, 14, tzinfo=UTC)),
        # no change of clocks in Arizona and Hawaii
        (date(2026, 3, 9), ARIZONA, datetime(2026, 3, 8, 16, tzinfo=UTC)),
        (date(2026, 11, 2), ISLANDS, datetime(2026, 11, 1, 19, tzinfo=UTC)),
        # year end and the day after 29 February
        (date(2027, 1, 1), EASTERN, datetime(2026, 12, 31, 14, tzinfo=UTC)),
        (date(2028, 3, 1), EASTERN, datetime(2028, 2, 29, 14, tzinfo=UTC)),
    ],
)
def test_nine_o_clock_the_day_before(day: date, zone: str, begins: datetime) -> None:
    assert reminder_begins(day, zone) == begins
    opens = datetime.combine(day, datetime.min.time(), ZoneInfo(zone)) + timedelta(hours=10)
    assert not is_reminded(day, opens, LONG_AGO, begins - timedelta(minutes=1), zone)
    assert is_reminded(day, opens, LONG_AGO, begins, zone)
    assert not is_reminded(day, opens, LONG_AGO, opens, zone)
    # booked when the reminder's time had come: the appointment letter is the reminder
    assert not is_reminded(day, opens, begins, begins + timedelta(hours=1), zone)


@given(
    st.dates(date(2026, 1, 1), date(2030, 12, 31)),
    st.sampled_from([EASTERN, ARIZONA, ISLANDS, "America/Los_Angeles", "Europe/London"]),
)
def test_it_is_the_day_before_on_the_clock_of_the_branch(day: date, zone: str) -> None:
    shown = reminder_begins(day, zone).astimezone(ZoneInfo(zone))
    assert (shown.date() + timedelta(days=1), shown.hour) == (day, 9)


@pytest.mark.parametrize(
    ("due", "asked", "letters", "is_asked"),
    [
        (date(2026, 11, 30), [], 0, False),  # its day is not over
        (date(2026, 11, 29), [], 0, True),
        (date(2026, 11, 1), [date(2026, 11, 24)], 1, False),
        (date(2026, 11, 1), [date(2026, 11, 23), date(2026, 11, 2)], 2, True),
        (date(2026, 11, 1), [date(2026, 11, 2)], MOST_LETTERS, False),
    ],
)
def test_who_was_asked_waits_a_week(
    due: date, asked: list[date], letters: int, is_asked: bool
) -> None:
    assert asks_again(due, asked, letters, date(2026, 11, 30)) is is_asked
