"""Which work touched some hours of a day."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from treatments.rules.bundles import BundleScope, within_hours

ZONE = ZoneInfo("America/New_York")


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


@pytest.mark.parametrize(
    ("started", "finished", "is_within"),
    [
        (at(25, 9), at(25, 10), True),
        (at(25, 7), at(25, 8), True),  # the edge counts
        (at(25, 12), at(25, 13), True),
        (at(25, 7), at(25, 7, 59), False),
        (at(25, 12, 1), at(25, 13), False),
        (at(25, 7), at(25, 13), True),  # all around them
        (at(25, 23), at(26, 1), False),  # over midnight, of neither day
        (at(25, 23), at(26, 9), True),  # touches those of the second day
    ],
)
def test_work_from_eight_to_noon(started: datetime, finished: datetime, is_within: bool) -> None:
    assert within_hours(started, finished, (time(8), time(12))) is is_within


def test_the_scope_in_the_log_names_hours_and_properties_and_no_address() -> None:
    scope = BundleScope(
        date(2026, 1, 1), date(2026, 1, 2), property_ids=(3, 5), hours=(time(8), time(9, 30))
    )
    assert scope.plain() == {
        "since": "2026-01-01",
        "until": "2026-01-02",
        "property_ids": [3, 5],
        "hours": ["08:00", "09:30"],
    }
    assert BundleScope(date(2026, 1, 1), date(2026, 1, 2), property_ids=()).plain() == {
        "since": "2026-01-01",
        "until": "2026-01-02",
        "property_ids": [],
    }
