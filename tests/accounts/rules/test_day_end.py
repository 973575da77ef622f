"""The end of the day at a branch; shifts of the clock in 2026 by 15 U.S.C. 260a."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from accounts.rules.day_end import end_of_day

OHIO = "America/New_York"


@pytest.mark.parametrize(
    ("now", "zone", "end"),
    [
        # 3 PM and one second before midnight of Nov 25 in Ohio (UTC-5)
        (datetime(2026, 11, 25, 20, tzinfo=UTC), OHIO, datetime(2026, 11, 26, 5, tzinfo=UTC)),
        (
            datetime(2026, 11, 26, 4, 59, 59, tzinfo=UTC),
            OHIO,
            datetime(2026, 11, 26, 5, tzinfo=UTC),
        ),
        # at midnight the next day has begun
        (datetime(2026, 11, 26, 5, tzinfo=UTC), OHIO, datetime(2026, 11, 27, 5, tzinfo=UTC)),
        # Mar 8 has 23 hours, Nov 1 has 25
        (datetime(2026, 3, 8, 5, tzinfo=UTC), OHIO, datetime(2026, 3, 9, 4, tzinfo=UTC)),
        (datetime(2026, 11, 1, 4, tzinfo=UTC), OHIO, datetime(2026, 11, 2, 5, tzinfo=UTC)),
        (datetime(2026, 2, 28, 12, tzinfo=UTC), "UTC", datetime(2026, 3, 1, tzinfo=UTC)),
    ],
)
def test_a_day_ends_at_midnight_on_its_own_clock(now: datetime, zone: str, end: datetime) -> None:
    assert end_of_day(now, zone) == end
