"""How long the words of an incident are kept, and when they may be forgotten.

House rules, the longer readings: the firm's longest years from the last entry, to the end of that
calendar year, and never less than the records the incident concerns; an open one is kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from treatments.rules.retention import FIRM_DEFAULT_YEARS

INCIDENT_RULE = (
    "kept to the end of the seventh year after the last entry and as long as every record "
    "concerned; past it, closed and without a hold, what may name somebody is deleted"
)


@dataclass(frozen=True)
class KeptIncident:
    """One incident: its last entry, the last day of its records, whether it is open or held."""

    pk: int
    last_entry_on: date
    records_until: date | None = None
    is_open: bool = True
    is_held: bool = False


def incident_last_day(kept: KeptIncident) -> date:
    """The last day its words are kept, when nothing holds them longer."""
    years_end = date(kept.last_entry_on.year + FIRM_DEFAULT_YEARS, 12, 31)
    return max(years_end, kept.records_until or years_end)


def forgettable_incidents(rows: Iterable[KeptIncident], before: date) -> frozenset[int]:
    """The incidents whose last day lies before a day, closed and unheld."""
    return frozenset(
        one.pk
        for one in rows
        if not one.is_open and not one.is_held and incident_last_day(one) < before
    )
