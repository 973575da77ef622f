"""A day and a clock time as one moment, at one place."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo


def moment(day: date, at: time, zone: ZoneInfo) -> datetime | None:
    """When clocks in `zone` showed `at` on `day`; of an hour shown twice the first.

    None for an hour that was left out in spring.
    """
    local = datetime.combine(day, at, zone)
    same = local.astimezone(UTC).astimezone(zone)
    return local if same.replace(tzinfo=None) == local.replace(tzinfo=None) else None
