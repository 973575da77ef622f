"""The week of a branch: technicians down, days across, each visit in its cell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from accounts.selectors.people import branches_for, technicians_of
from scheduling.models import Visit
from scheduling.rules.day_words import count, hours, local
from scheduling.rules.public_holidays import holiday_name
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.days import WorkDay, work_days
from scheduling.selectors.visit_words import VisitWords, visit_words

if TYPE_CHECKING:
    from accounts.models import Branch, Person

WEEK = 7


@dataclass(frozen=True)
class Card:
    """One visit in a cell; only a booked one can be moved. `opens` and `closes` stay in a drag."""

    words: VisitWords
    street: str
    town: str
    is_movable: bool
    opens: str
    closes: str


@dataclass(frozen=True)
class Cell:
    """One technician's day."""

    day: date
    says: str
    is_working: bool
    is_today: bool
    cards: Sequence[Card]


@dataclass(frozen=True)
class Line:
    """One technician's week."""

    technician: Person
    cells: Sequence[Cell]
    says: str


@dataclass(frozen=True)
class Heading:
    """One day of the head, with the public holiday if it is one."""

    day: date
    holiday: str
    is_today: bool


@dataclass(frozen=True)
class CalendarPage:
    """A week of one branch."""

    branch: Branch | None
    first: date
    heads: Sequence[Heading]
    lines: Sequence[Line]

    @property
    def last(self) -> date:
        return self.first + timedelta(days=WEEK - 1)

    @property
    def visits(self) -> int:
        return sum(len(cell.cards) for line in self.lines for cell in line.cells)


def calendar_page(person: Person, day: date, branch_id: int | None, today: date) -> CalendarPage:
    """Read the week (Monday first) that holds `day`, in a fixed number of queries."""
    first = day - timedelta(days=day.weekday())
    days = [first + timedelta(days=n) for n in range(WEEK)]
    branch = next((b for b in branches_for(person) if branch_id in (None, b.pk)), None)
    if branch is None:
        return CalendarPage(None, first, (), ())
    heads = [Heading(one, holiday_name(one, branch.state), one == today) for one in days]
    people = _people(branch, days)
    works = work_days(people, days)
    lines = [_line(one, [works[one.pk, on] for on in days], today) for one in people]
    return CalendarPage(branch, first, heads, lines)


def _people(branch: Branch, days: Sequence[date]) -> list[Person]:
    """The branch's technicians, and whoever else has a visit of the week there."""
    people = {one.pk: one for one in technicians_of(branch.pk).select_related("branch")}
    rows = Visit.objects.not_canceled().filter(property__branch=branch, day__in=list(days))
    for visit in rows.select_related("technician__branch"):
        people.setdefault(visit.technician_id, visit.technician)
    return sorted(people.values(), key=lambda one: (one.full_name, one.pk))


def _line(technician: Person, works: Sequence[WorkDay], today: date) -> Line:
    cells = [_cell(work, today) for work in works]
    visits = [visit for work in works for visit in work.visits]
    minutes = sum(visit.minutes for visit in visits)
    return Line(technician, cells, f"{count(len(visits), 'visit')}, {minutes // 60} h of work")


def _cell(work: WorkDay, today: date) -> Cell:
    shift = work.shift
    says = "no shift" if shift is None else hours(shift.starts, shift.ends)
    return Cell(
        day=work.day,
        says="away" if work.time_off else says,
        is_working=work.is_working,
        is_today=work.day == today,
        cards=[_card(visit) for visit in work.visits],
    )


def _card(visit: Visit) -> Card:
    place = visit.property
    zone = place.branch.time_zone
    opens, closes = (local(at, zone) for at in (visit.window_opens_at, visit.window_closes_at))
    return Card(
        words=visit_words(visit, zone),
        street=place.street,
        town=place.city,
        is_movable=visit.state == VisitState.BOOKED,
        opens=f"{opens:%H:%M}",
        closes=f"{closes:%H:%M}",
    )
