"""A technician with a Friday, a home, and one way to ask for a booking."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any

from accounts.models import Person
from scheduling.models import Visit
from scheduling.services.booking import book_visit

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
DAY = date(2026, 11, 27)  # a Friday; Columbus is five hours behind UTC in November


def book(technician: Person, by: Person | None = None, **asked: Any) -> Visit:
    """Book 45 minutes on Friday between 9 and 11 unless asked for otherwise."""
    wanted: dict[str, Any] = {
        "day": DAY,
        "window_opens": time(9),
        "window_closes": time(11),
        "minutes": 45,
    }
    return book_visit(technician_id=technician.pk, by=by, now=NOW, **(wanted | asked))
