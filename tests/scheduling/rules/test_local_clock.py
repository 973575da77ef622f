"""Wall clocks of one day, compared with the rules of daylight saving time (15 U.S.C. 260a).

In the United States clocks go forward at 2:00 on the second Sunday of March and back at 2:00 on
the first Sunday of November.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from scheduling.rules.local_clock import instant, is_shown, moment_at, second_of

NEW_YORK, PHOENIX = "America/New_York", "America/Phoenix"
SPRING, AUTUMN, PLAIN = date(2027, 3, 14), date(2026, 11, 1), date(2026, 11, 27)


@pytest.mark.parametrize(
    ("day", "hours"), [(PLAIN, 9), (SPRING, 8), (AUTUMN, 10)], ids=["plain", "spring", "autumn"]
)
def test_seconds_are_those_that_really_pass(day: date, hours: int) -> None:
    nine = instant(day, time(9), NEW_YORK)
    assert second_of(nine, day, NEW_YORK) == hours * 3600
    assert moment_at(hours * 3600, day, NEW_YORK) == nine


def test_an_hour_is_left_out_in_spring_only_where_clocks_change() -> None:
    assert not is_shown(SPRING, time(2, 30), NEW_YORK)
    assert is_shown(SPRING, time(3), NEW_YORK)
    assert is_shown(SPRING, time(2, 30), PHOENIX)  # Arizona keeps standard time


def test_an_hour_shown_twice_is_the_first() -> None:
    assert instant(AUTUMN, time(1, 30), NEW_YORK) == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    assert is_shown(AUTUMN, time(1, 30), NEW_YORK)
