"""The technician's day: the stops in order, each in a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import F, Prefetch, QuerySet
from django.http import Http404

from accounts.rules.phones import readable
from scheduling.models import RenewalZone, Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import hours, left
from scheduling.rules.renewals import days_left
from scheduling.rules.visit_states import VisitState
from sites.selectors.properties import preferences_said
from treatments.selectors.vehicles import VehicleRow, own_vehicle

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Preference, Property, SiteCaution


@dataclass(frozen=True)
class Remark:
    """A caution or preference in words."""

    words: str
    is_hard: bool = False


@dataclass(frozen=True)
class Call:
    """Somebody with a telephone: the number to dial and the number to read."""

    name: str
    phone: str
    readable: str


@dataclass(frozen=True)
class StopRow:
    """One stop of the day in the technician's local time."""

    pk: int
    customer: str
    address: str
    kind: str
    reason: str
    state_word: str
    is_over: bool
    is_started: bool
    is_next: bool
    window_opens_at: datetime
    window: str
    starts_at: datetime | None
    finished_at: datetime | None
    cautions: tuple[Remark, ...]
    position: str
    calls: tuple[Call, ...]

    @property
    def phone(self) -> str:
        return next((call.phone for call in self.calls), "")


@dataclass(frozen=True)
class TodayPage:
    """The day of one technician; `next` is the first stop that is not over."""

    day: date
    stops: tuple[StopRow, ...]
    drive_minutes: int
    vehicle: VehicleRow | None = None

    @property
    def next(self) -> StopRow | None:
        return next((stop for stop in self.stops if stop.is_next), None)


def zone_of(person: Person) -> ZoneInfo:
    """Return the time zone of the person's branch: dates and hours on the phone are local."""
    return ZoneInfo(person.branch.time_zone)


def own_stop(person: Person, pk: int) -> Visit:
    """Return a visit of this technician with its property; somebody else's is not found."""
    return _of(person, pk, Visit.objects.all())


def own_visit(person: Person, pk: int) -> Visit:
    """The same with what to watch and what was asked for at the property."""
    due = RenewalZone.objects.select_related("zone")
    visits = Visit.objects.select_related("property__access").prefetch_related(
        "property__cautions",
        Prefetch("property__preferences", preferences_said()),
        Prefetch("renewal__zones", due),
    )
    return _of(person, pk, visits)


def _of(person: Person, pk: int, visits: QuerySet[Visit]) -> Visit:
    related = ("property__branch", "property__customer", "renewal")
    visit = visits.select_related(*related).filter(pk=pk, technician=person).first()
    if visit is None:
        raise Http404("No such stop of yours.")
    return visit


def today_page(person: Person, day: date) -> TodayPage:
    """Gather the technician's stops of a day in the order of the plan."""
    visits = list(
        Visit.objects.not_canceled()
        .filter(technician=person, day=day)
        .select_related("property__branch", "property__customer", "renewal", "route_stop")
        .prefetch_related(
            "property__cautions",
            "property__customer__contacts",
            Prefetch("renewal__zones", RenewalZone.objects.select_related("zone")),
        )
        .order_by(F("starts_at").asc(nulls_last=True), "window_opens_at", "pk")
    )
    first_open = next((visit.pk for visit in visits if visit.state in OPEN_STATES), None)
    return TodayPage(
        day=day,
        stops=tuple(stop_row(visit, day, is_next=visit.pk == first_open) for visit in visits),
        drive_minutes=sum(_drive(visit) for visit in visits),
        vehicle=own_vehicle(person, day),
    )


def _drive(visit: Visit) -> int:
    stop = getattr(visit, "route_stop", None)
    return stop.drive_minutes if stop else 0


def stop_row(visit: Visit, today: date, *, is_next: bool) -> StopRow:
    """Say one visit in the words and on the clock of its branch."""
    place, local = visit.property, ZoneInfo(visit.property.branch.time_zone)
    return StopRow(
        pk=visit.pk,
        customer=place.customer.name,
        address=f"{place.street}, {place.city}",
        kind=visit.get_kind_display(),
        reason=_reason(visit, today),
        state_word=visit.get_state_display(),
        is_over=visit.state not in OPEN_STATES,
        is_started=visit.state != VisitState.BOOKED,
        is_next=is_next,
        window_opens_at=visit.window_opens_at.astimezone(local),
        window=hours(
            visit.window_opens_at.astimezone(local), visit.window_closes_at.astimezone(local)
        ),
        starts_at=local_or_none(visit.starts_at, local),
        finished_at=local_or_none(visit.finished_at, local),
        cautions=_cautions(place),
        position=_position(place),
        calls=_calls(place),
    )


def _reason(visit: Visit, today: date) -> str:
    """Why one comes, in a line: the zones due and the first lapse, or what the office noted."""
    if visit.renewal is None:
        return visit.note
    names = ", ".join(dict.fromkeys(line.zone.name for line in visit.renewal.zones.all()))
    return f"{names}; {left(days_left(visit.renewal.lapses_on, today))}"


def local_or_none(at: datetime | None, zone: ZoneInfo) -> datetime | None:
    """Return an instant on a clock of that zone, nothing for none."""
    return at.astimezone(zone) if at else None


def _position(place: Property) -> str:
    return "" if place.latitude is None else f"{place.latitude},{place.longitude}"


def _calls(place: Property) -> tuple[Call, ...]:
    contacts = (one for one in place.customer.contacts.all() if one.phone)
    return tuple(Call(one.name, one.phone, readable(one.phone)) for one in contacts)


def remark_words(row: SiteCaution | Preference) -> str:
    """Say a caution or preference with its note."""
    return ", ".join(part for part in (row.get_kind_display(), row.note) if part)


def _cautions(place: Property) -> tuple[Remark, ...]:
    return tuple(Remark(remark_words(caution)) for caution in place.cautions.all())
