"""Days and hours in US words ("Nov 12, 2026" is a house rule; common practice, no source)."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from scheduling.rules.day_words import (
    clock,
    count,
    full_day,
    hours,
    left,
    left_short,
    local,
    week_day,
)


def test_days() -> None:
    # Nov 12, 2026 is a Thursday: Jan 1, 2026 is one, and 315 days later is 45 weeks later
    assert (full_day(date(2026, 11, 12)), week_day(date(2026, 11, 12))) == (
        "Nov 12, 2026",
        "Thu, Nov 12, 2026",
    )


@pytest.mark.parametrize(
    ("moment", "words"),
    [
        (time(0, 0), "12:00 AM"),
        (time(9, 5), "9:05 AM"),
        (time(12, 0), "12:00 PM"),
        (time(23, 59), "11:59 PM"),
    ],
)
def test_hours_of_the_day(moment: time, words: str) -> None:
    assert clock(moment) == words


@pytest.mark.parametrize(
    ("opens", "closes", "words"),
    [
        (time(9), time(11), "9:00 to 11:00 AM"),
        (time(11), time(13), "11:00 AM to 1:00 PM"),
        (time(13, 30), time(15), "1:30 to 3:00 PM"),
    ],
)
def test_windows(opens: time, closes: time, words: str) -> None:
    assert hours(opens, closes) == words


def test_the_clock_on_the_wall_follows_summer_time() -> None:
    # Eastern time is UTC-5 in winter and UTC-4 in summer (US 15 USC 260a)
    for month, hour in ((1, 9), (7, 10)):
        moment = datetime(2026, month, 15, 14, tzinfo=UTC)
        assert local(moment, "America/New_York").hour == hour


@pytest.mark.parametrize(
    ("days", "words", "short"),
    [
        (6, "6 days left", "6 d left"),
        (1, "1 day left", "1 d left"),
        (0, "lapses today", "lapses today"),
        (-1, "lapsed 1 day ago", "1 d lapsed"),
        (-9, "lapsed 9 days ago", "9 d lapsed"),
    ],
)
def test_what_is_left(days: int, words: str, short: str) -> None:
    assert (left(days), left_short(days)) == (words, short)


def test_counted_nouns() -> None:
    assert count(1, "visit") == "1 visit"
    assert count(1204, "property", "properties") == "1,204 properties"
