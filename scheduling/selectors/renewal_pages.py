"""The Renewals page: what lapses when, in the order of days left, and what is done about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any

from django.db.models import Case, Count, IntegerField, Prefetch, Q, Value, When
from django.http import Http404

from accounts.selectors.contact_log import last_of
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.models.renewals import OPEN_STATES, WAITING_STATES
from scheduling.rules.visit_states import RenewalState
from scheduling.selectors.renewal_words import RenewalRow, renewal_row
from treatments.selectors.windows import windows_of

if TYPE_CHECKING:
    from django.core.paginator import Page

    from accounts.models import Person

SOON_DAYS = 14
GROUPS = {
    "to_book": ("To book", WAITING_STATES),
    "booked": ("Booked", (RenewalState.BOOKED,)),
    "declined": ("Declined", (RenewalState.DECLINED,)),
}


@dataclass(frozen=True)
class RenewalFilter:
    """Which renewals: of a branch, a town, a group of states, lapsing within so many days."""

    branch: int | None = None
    town: str = ""
    state: str = ""
    within: int | None = None


@dataclass(frozen=True)
class Summary:
    """How many properties lapse soon, how many of them are booked, how many lapsed already."""

    soon: int
    booked: int
    lapsed: int

    @property
    def waiting(self) -> int:
        return self.soon - self.booked


@dataclass(frozen=True)
class RenewalGroup:
    """The rows of one heading."""

    key: str
    title: str
    rows: Sequence[RenewalRow]


@dataclass(frozen=True)
class RenewalsPage:
    """Everything the page shows; `page` carries the numbers of the pager."""

    summary: Summary
    groups: Sequence[RenewalGroup]
    page: Page[Any]
    is_empty_firm: bool


def renewals_page(
    person: Person, wanted: RenewalFilter, today: date, number: object
) -> RenewalsPage:
    """Read one page of the renewals the person may see, in a fixed number of queries."""
    chosen = _of_state(_filtered(person, wanted, today), wanted.state)
    page = page_of(_drawn(chosen), number)
    rows = _rows(list(page.object_list), today)
    return RenewalsPage(
        summary=_summary(_filtered(person, wanted, today), today),
        groups=_groups(rows),
        page=page,
        is_empty_firm=not page.paginator.count and not Renewal.objects.exists(),
    )


def towns_of(person: Person) -> list[str]:
    """Towns that have a renewal on the page, for its filter."""
    seen = _seen(person).order_by("property__city")
    return list(seen.values_list("property__city", flat=True).distinct())


def renewal_for(person: Person, pk: int) -> Renewal:
    """One renewal the person may see, with its property; otherwise Http404."""
    of_branches = Renewal.objects.filter(property__branch__in=branches_for(person))
    found: Renewal | None = _with_parts(of_branches).filter(pk=pk).first()
    if found is None:
        raise Http404("No such renewal.")
    return found


def row_of(renewal: Renewal, today: date) -> RenewalRow:
    """The row of one renewal as the list shows it."""
    return _rows([renewal], today)[0]


def _seen(person: Person) -> Any:
    shown = [state for _, states in GROUPS.values() for state in states]
    return Renewal.objects.filter(state__in=shown, property__branch__in=branches_for(person))


def _filtered(person: Person, wanted: RenewalFilter, today: date) -> Any:
    rows = _seen(person)
    if wanted.branch:
        rows = rows.filter(property__branch_id=wanted.branch)
    if wanted.town:
        rows = rows.filter(property__city=wanted.town)
    if wanted.within is not None:
        rows = rows.filter(lapses_on__lte=today + timedelta(days=wanted.within))
    return rows


def _of_state(rows: Any, state: str) -> Any:
    return rows.filter(state__in=GROUPS[state][1]) if state in GROUPS else rows


def _drawn(rows: Any) -> Any:
    rank = Case(
        *(When(state__in=states, then=Value(n)) for n, (_, states) in enumerate(GROUPS.values())),
        output_field=IntegerField(),
    )
    return _with_parts(rows).annotate(rank=rank).order_by("rank", "lapses_on", "pk")


def _with_parts(rows: Any) -> Any:
    zones = RenewalZone.objects.select_related("zone", "window__historic", "window__treated_area")
    zones = zones.prefetch_related("window__overrides").order_by("zone_id", "pk")
    visits = Visit.objects.open().select_related("technician")
    return rows.select_related(
        "property__customer", "property__branch", "offer__technician"
    ).prefetch_related(
        Prefetch("zones", queryset=zones),
        Prefetch("visits", queryset=visits, to_attr="open_visits"),
        "property__customer__contacts",
    )


def _rows(renewals: list[Renewal], today: date) -> list[RenewalRow]:
    windows = windows_of({line.zone_id for one in renewals for line in one.zones.all()})
    last = last_of({one.property.customer_id for one in renewals})
    return [
        renewal_row(one, windows, today, last.get(one.property.customer_id)) for one in renewals
    ]


def _groups(rows: list[RenewalRow]) -> list[RenewalGroup]:
    return [
        RenewalGroup(key, GROUPS[key][0], list(part))
        for key, part in groupby(rows, key=lambda row: _group_of(row.state_code))
    ]


def _group_of(state: str) -> str:
    return next(key for key, (_, states) in GROUPS.items() if state in states)


def _summary(rows: Any, today: date) -> Summary:
    soon = Q(state__in=OPEN_STATES, lapses_on__lte=today + timedelta(days=SOON_DAYS))
    booked = soon & Q(state=RenewalState.BOOKED)
    lapsed = Q(lapses_on__lte=today)
    return Summary(
        **rows.aggregate(
            soon=Count("pk", filter=soon),
            booked=Count("pk", filter=booked),
            lapsed=Count("pk", filter=lapsed),
        )
    )
