"""The manager's figures of renewals, read for the branches a person works for."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from django.db.models import Min
from django.utils.safestring import SafeString, mark_safe

from accounts.rules.day_words import MONTHS
from accounts.selectors.people import branches_for
from scheduling.models import Renewal, Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import local
from scheduling.rules.renewal_figures import (
    MonthFigures,
    RenewalFact,
    bare_of_property,
    by_month,
    declined_reasons,
)
from scheduling.rules.visit_states import RenewalState, VisitState, Work
from treatments.reports.bar_chart import Bar, bar_chart
from treatments.selectors.windows import counted_windows

if TYPE_CHECKING:
    from accounts.models import Person

BACK_DAYS, AHEAD_DAYS, MONTHS_BACK = 90, 90, 12
WIDE, NARROW = 860, 340
NOT_CANCELED = [one for one in VisitState if one != VisitState.CANCELED]


@dataclass(frozen=True)
class BareRow:
    """Days of one property that some zone was not covered: the past, and ahead as things stand."""

    property_id: int
    street: str
    town: str
    past: int
    ahead: int


@dataclass(frozen=True)
class Drawing:
    """One drawing in two widths."""

    wide: SafeString
    narrow: SafeString


@dataclass(frozen=True)
class FiguresPage:
    """Everything the page shows; `rows` are properties with such a day, the most first."""

    months: list[MonthFigures]
    declined: list[tuple[str, int]]
    rows: list[BareRow]
    properties: int
    past: int
    ahead: int
    booked_drawing: Drawing | None
    bare_drawing: Drawing | None
    back_days: int = BACK_DAYS
    ahead_days: int = AHEAD_DAYS

    @property
    def renewals(self) -> int:
        return sum(one.renewals for one in self.months)

    @property
    def in_time(self) -> int:
        return sum(one.in_time for one in self.months)

    @property
    def share(self) -> str:
        """Property days without such a day, of all, in percent rounded down."""
        whole = self.properties * self.back_days
        return f"{100 * (whole - self.past) // whole} %" if whole else "not known"


def figures_page(person: Person, today: date) -> FiguresPage:
    """Read the figures in a fixed number of queries."""
    facts = _facts(person, today)
    months = by_month(facts)
    rows = _bare_rows(person, today)
    shown = sorted(
        (row for row in rows if row.past or row.ahead),
        key=lambda row: (-row.past, -row.ahead, row.street),
    )
    return FiguresPage(
        months=months,
        declined=declined_reasons(facts),
        rows=shown,
        properties=len(rows),
        past=sum(row.past for row in rows),
        ahead=sum(row.ahead for row in rows),
        booked_drawing=_booked_drawing(months),
        bare_drawing=_bare_drawing(shown),
    )


def _facts(person: Person, today: date) -> list[RenewalFact]:
    """Renewals that lapsed in the last twelve months, those withdrawn left out."""
    since = date(today.year - 1, today.month, 1)
    rows = Renewal.objects.filter(
        property__branch__in=branches_for(person), lapses_on__gte=since, lapses_on__lte=today
    ).exclude(state=RenewalState.WITHDRAWN)
    booked = Visit.objects.filter(renewal__in=rows, state__in=NOT_CANCELED)
    first = dict(booked.values_list("renewal").annotate(Min("created_at")).order_by())
    return [
        RenewalFact(
            lapses_on,
            local(first[pk], zone).date() if pk in first else None,
            (note or "no reason written") if state == RenewalState.DECLINED else None,
        )
        for pk, lapses_on, state, note, zone in rows.values_list(
            "pk", "lapses_on", "state", "closing_note", "property__branch__time_zone"
        )
    ]


def _bare_rows(person: Person, today: date) -> list[BareRow]:
    start, end = today - timedelta(days=BACK_DAYS), today + timedelta(days=AHEAD_DAYS)
    zones, names = counted_windows(branches_for(person))
    planned = _planned(set(names))
    found = []
    for property_id, (street, town) in names.items():
        here = zones[property_id]
        ahead = {
            zone_id: [*windows, *planned.get((property_id, zone_id), ())]
            for zone_id, windows in here.items()
        }
        past = bare_of_property(here, start, today)
        found.append(BareRow(property_id, street, town, past, bare_of_property(ahead, today, end)))
    return found


def _planned(property_ids: set[int]) -> dict[tuple[int, int], list[tuple[date, date]]]:
    """What visits that are booked will open: as many days as the zone's window held last."""
    rows = Visit.objects.filter(
        state__in=OPEN_STATES, renewal__work=Work.TREAT, property__in=property_ids
    )
    found: dict[tuple[int, int], list[tuple[date, date]]] = defaultdict(list)
    for property_id, day, zone_id, held in rows.values_list(
        "property_id", "day", "renewal__zones__zone", "renewal__zones__window__days"
    ):
        if zone_id is not None and held is not None:
            found[property_id, zone_id].append((day, day + timedelta(days=held)))
    return found


def _booked_drawing(months: list[MonthFigures]) -> Drawing | None:
    bars = [
        Bar(
            f"{MONTHS[one.month.month - 1]} {one.month.year}",
            Fraction(one.in_time, one.renewals),
            f"{one.in_time} of {one.renewals}",
        )
        for one in months
    ]
    return _drawing("Booked before the lapse, by month of the lapse", bars, "booked")


def _bare_drawing(rows: list[BareRow]) -> Drawing | None:
    bars = [Bar(row.street, Fraction(row.past), f"{row.past} d") for row in rows if row.past]
    return _drawing(f"Days not covered in the last {BACK_DAYS} days", bars, "bare")


def _drawing(title: str, bars: list[Bar], uid: str) -> Drawing | None:
    if not bars:
        return None
    return Drawing(
        mark_safe(bar_chart(title, bars, width=WIDE, uid=f"{uid}-wide")),
        mark_safe(bar_chart(title, bars, width=NARROW, uid=f"{uid}-narrow")),
    )
