"""One visit as a line of a list or the head of its page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from scheduling.rules.day_words import hours, local, week_day
from scheduling.rules.visit_states import VisitState

if TYPE_CHECKING:
    from scheduling.models import Visit

# the shape before the word (design look: components, state words)
STATE_SHAPES = {
    VisitState.BOOKED: "book",
    VisitState.STARTED: "check",
    VisitState.FINISHING: "late",
    VisitState.DONE: "ok",
    VisitState.PART_DONE: "check",
    VisitState.NOT_DONE: "open",
    VisitState.CANCELED: "open",
}


@dataclass(frozen=True)
class VisitWords:
    """A visit in words; hours are those of the property's shop."""

    pk: int
    url: str
    day: date
    on: str
    window: str
    planned: str
    kind: str
    state: str
    shape: str
    technician: str
    note: str


def visit_words(visit: Visit, time_zone: str) -> VisitWords:
    """Put a visit in words; its technician is already fetched."""
    return VisitWords(
        pk=visit.pk,
        url=visit.get_absolute_url(),
        day=visit.day,
        on=week_day(visit.day),
        window=_window(visit, time_zone),
        planned=_planned(visit, time_zone),
        kind=visit.get_kind_display(),
        state=visit.get_state_display(),
        shape=STATE_SHAPES[VisitState(visit.state)],
        technician=visit.technician.full_name,
        note=visit.ending_note or visit.note,
    )


def _window(visit: Visit, zone: str) -> str:
    return hours(local(visit.window_opens_at, zone), local(visit.window_closes_at, zone))


def _planned(visit: Visit, zone: str) -> str:
    if visit.starts_at is None or visit.ends_at is None:
        return ""
    return hours(local(visit.starts_at, zone), local(visit.ends_at, zone))
