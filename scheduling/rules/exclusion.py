"""When exclusion work is usually done by."""

from __future__ import annotations

from datetime import date, timedelta

USUAL_DAYS = 14


def usual_due(today: date) -> date:
    """Two weeks from now (house rule); proposed, never set."""
    return today + timedelta(days=USUAL_DAYS)
