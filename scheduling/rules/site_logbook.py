"""The logbook of one property in words: ready for a page, a link and paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sites.rules.trends import MonthCount
from treatments.rules.desk import DeskFile, DeskList, counted

LOOK_BACK = timedelta(days=730)  # house rule: two years of service stand in the logbook
MOST_REPORTS = 200


@dataclass(frozen=True)
class ServiceReport:
    """A visit whose notice can be opened."""

    visit_id: int
    words: str


@dataclass(frozen=True)
class Plan:
    """The version of the plan that counts."""

    title: str
    text: str


@dataclass(frozen=True)
class Logbook:
    """Everything of one property's logbook as of a moment at the branch."""

    address: str
    customer: str
    firm: str
    phone: str
    as_of: datetime
    code: str
    code_url: str
    plan: Plan | None
    trend: tuple[MonthCount, ...]
    lists: tuple[DeskList, ...]
    files: tuple[DeskFile, ...]
    reports: tuple[ServiceReport, ...]
    unanswered: int
    demo: bool = False


def device_list(devices: tuple[tuple[str, ...], ...] | None) -> DeskList:
    """Stations, traps and monitors with their places; None: no devices are kept yet."""
    head = ("Number", "Kind", "Place", "Last looked at")
    if devices is None:
        said = "no devices kept yet"
        missing = ("No map of stations, traps or monitors is kept here yet.",)
        return DeskList("devices", "Device map", said, head, missing=missing)
    return DeskList("devices", "Device map", counted(len(devices), "device"), head, devices)


def trend_list(trend: tuple[MonthCount, ...]) -> DeskList:
    """Sightings, and findings where they are kept, by month."""
    has_findings = any(one.findings is not None for one in trend)
    head = ("Month", "Sightings", "Findings") if has_findings else ("Month", "Sightings")
    missing = () if has_findings else ("Findings of inspections are not counted here yet.",)
    total = sum(one.sightings for one in trend)
    said = f"{counted(total, 'sighting')} in {counted(len(trend), 'month')}"
    return DeskList("trend", "Trends", said, head, tuple(map(_month, trend)), missing)


def _month(one: MonthCount) -> tuple[str, ...]:
    counts = (one.sightings,) if one.findings is None else (one.sightings, one.findings)
    return (one.words, *map(str, counts))


def since(today: date) -> date:
    """The first day of the logbook's two years."""
    return today - LOOK_BACK
