"""A time typed after midnight of work before it is yesterday's, also when the clocks change.

US daylight saving time in 2026: Mar 8 and Nov 1 (15 U.S.C. 260a, from memory, unverified; the
zone file of the machine says the same).
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from scheduling.rules.local_clock import last_time

ZONE = ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("now", "typed", "found"),
    [
        # Nov 26, 0:20 in Ohio
        ("2026-11-26T05:20:00", time(23, 50), "2026-11-26T04:50:00"),
        ("2026-11-26T05:20:00", time(0, 10), "2026-11-26T05:10:00"),
        # a clock that is five minutes ahead is still today's
        ("2026-11-26T05:20:00", time(0, 25), "2026-11-26T05:25:00"),
        # six hours back and not a minute more
        ("2026-11-26T05:20:00", time(18, 20), "2026-11-25T23:20:00"),
        ("2026-11-26T05:20:00", time(18, 19), "2026-11-26T23:19:00"),
        # at 9:10 AM, 10:30 is to come
        ("2026-11-25T14:10:00", time(10, 30), "2026-11-25T15:30:00"),
        # Nov 1 at 0:20, before the clocks go back
        ("2026-11-01T04:20:00", time(23, 50), "2026-11-01T03:50:00"),
        # Nov 1, 1:40 for the second time: 1:30 is ten minutes ago, 1:50 was the first
        ("2026-11-01T06:40:00", time(1, 30), "2026-11-01T06:30:00"),
        ("2026-11-01T06:40:00", time(1, 50), "2026-11-01T05:50:00"),
        # Nov 1, 1:40 for the first time
        ("2026-11-01T05:40:00", time(1, 30), "2026-11-01T05:30:00"),
        # the evening before is seven hours ago on Nov 1: 1:15 AM, second time
        ("2026-11-01T06:15:00", time(20, 14), "2026-11-02T01:14:00"),
        ("2026-11-01T06:15:00", time(20, 15), "2026-11-01T00:15:00"),
        # Mar 8, 3:05 AM: 1:55 was ten minutes ago
        ("2026-03-08T07:05:00", time(1, 55), "2026-03-08T06:55:00"),
        ("2026-03-08T07:05:00", time(23, 50), "2026-03-08T04:50:00"),
        ("2026-03-08T07:05:00", time(2, 30), None),
    ],
)
def test_the_last_time_the_clocks_showed_it(now: str, typed: time, found: str | None) -> None:
    at = last_time(typed, datetime.fromisoformat(now).replace(tzinfo=UTC), ZONE)
    assert (at and at.astimezone(UTC).replace(tzinfo=None).isoformat()) == found
