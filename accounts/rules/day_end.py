"""When a day ends somewhere."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo


def end_of_day(now: datetime, time_zone: str) -> datetime:
    """The next midnight on the clock of a place, in UTC; a day with a shift of the clock too."""
    zone = ZoneInfo(time_zone)
    tomorrow = now.astimezone(zone).date() + timedelta(days=1)
    return datetime.combine(tomorrow, time(), zone).astimezone(UTC)
