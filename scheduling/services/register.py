"""The daily look at what runs out."""

from __future__ import annotations

from datetime import date, datetime

from accounts.services.register_watch import WatchReport, watch_lines
from scheduling.selectors.register import whole_register
from scheduling.services.sweep import firm_day


def watch_register(*, today: date, now: datetime) -> WatchReport:
    """Open, sharpen and close the items of everything that runs out, as the system itself."""
    return watch_lines(lines=whole_register(None, today), today=today, now=now)


def watch_now(*, now: datetime) -> WatchReport:
    """Watch for the calendar day on which the firm's last shop is."""
    return watch_register(today=firm_day(now), now=now)
