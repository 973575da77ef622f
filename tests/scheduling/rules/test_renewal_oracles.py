"""Check values of residual windows, intervals and days, each with its source beside it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from scheduling.rules.day_words import local
from scheduling.rules.renewals import bare_days, renewal_interval
from scheduling.rules.season import degree_days

FAR = date(2030, 1, 1)


@pytest.mark.parametrize(
    ("applied_on", "interval_days", "opens_on"),
    [
        # 31 days of March: 1 + 21 = 22 (worked out from the calendar)
        (date(2026, 3, 1), 21, date(2026, 3, 22)),
        (date(2028, 2, 8), 21, date(2028, 2, 29)),  # a leap year: 8 + 21 = 29
        (date(2026, 2, 8), 21, date(2026, 3, 1)),  # none: 28 days of February
        (date(2026, 12, 20), 21, date(2027, 1, 10)),  # year end: 11 days of December, 10 of January
    ],
)
def test_the_return_opens_after_the_interval(
    applied_on: date, interval_days: int, opens_on: date
) -> None:
    opens = applied_on + timedelta(days=interval_days)
    found = renewal_interval(opens, FAR, today=applied_on)
    assert found.earliest == opens_on


def test_sixty_of_ninety_one() -> None:
    """A 60-day window on a 91-day cycle leaves 31 days (derived: 91 - 60)."""
    start = date(2026, 1, 1)
    assert bare_days([(start, start + timedelta(60))], start, start + timedelta(91)) == 31


def test_elm_leaf_beetle_in_either_scale() -> None:
    """UC IPM (read): above 51.8 F, which is 11.0 C; a degree C is 1.8 F: 13.3883 / 1.8."""
    low, high = 50.0, 80.0
    in_c = degree_days((low - 32) / 1.8, (high - 32) / 1.8, 11.0)
    assert round(degree_days(low, high, 51.8), 4) == 13.3883
    assert round(in_c, 4) == 7.4379


@pytest.mark.parametrize(
    ("zone", "night", "day"),
    [
        # clocks of the United States change on the second Sunday of March and the first of
        # November (15 USC 260a); offsets by the IANA time zone database
        ("America/New_York", (2026, 3, 8), "2026-03-08"),
        ("America/Chicago", (2026, 11, 1), "2026-11-01"),
        ("America/Phoenix", (2026, 3, 8), "2026-03-08"),  # Arizona does not change its clocks
    ],
)
def test_a_window_counts_days_of_the_place_when_clocks_change(
    zone: str, night: tuple[int, int, int], day: str
) -> None:
    noon = datetime(*night, 18, tzinfo=UTC)
    assert local(noon, zone).date().isoformat() == day
    after = local(noon + timedelta(days=90), zone).date()
    assert after - date.fromisoformat(day) == timedelta(days=90)


def test_a_day_that_lasts_twenty_three_hours_is_one_day() -> None:
    """15 USC 260a: on March 8, 2026 the clock goes from 2 to 3; midnight to midnight is 23 h."""
    first = datetime(2026, 3, 8, 5, tzinfo=UTC)  # midnight in New York, five hours behind
    last = first + timedelta(hours=23)
    days = [local(one, "America/New_York") for one in (first, last)]
    assert [(one.date(), one.hour) for one in days] == [
        (date(2026, 3, 8), 0),
        (date(2026, 3, 9), 0),
    ]
