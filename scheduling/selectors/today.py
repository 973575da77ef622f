"""The technician's day and stop: what the phone shows before anything is mixed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import F
from django.http import Http404
from django.utils.safestring import SafeString, mark_safe

from accounts.rules.phones import readable
from scheduling.models import Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import clock, hours, left
from scheduling.rules.renewals import days_left
from scheduling.rules.visit_states import VisitState
from sites.rules.units import unit_word
from sites.selectors.properties import zone_measure, zones_of
from treatments.reports.residual_line import LineWindow, ZoneLine, line_days, residual_line
from treatments.rules.products import METHOD_WORDS, Method
from treatments.selectors.records import HistoryRow, history_of, records_of_visit
from treatments.selectors.windows import windows_of

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Preference, Property, SiteCaution, TreatableZone
    from treatments.models import ApplicationRecord, ResidualWindow

LINE_BACK, LINE_AHEAD = timedelta(days=45), timedelta(days=60)
ACCESS_WORDS = (
    ("gate_code", "Gate code"),
    ("lock_box", "Lock box"),
    ("key_tag", "Key tag"),
    ("parking", "Parking"),
    ("ask_for", "Ask for"),
    ("notes", "Notes"),
)


@dataclass(frozen=True)
class Remark:
    """A caution or preference in words."""

    words: str
    is_hard: bool = False


@dataclass(frozen=True)
class AccessFact:
    """One way in."""

    name: str
    value: str


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

    @property
    def next(self) -> StopRow | None:
        return next((stop for stop in self.stops if stop.is_next), None)


@dataclass(frozen=True)
class ZoneRow:
    """One zone with its size and what is left of its protection."""

    pk: int
    name: str
    size: str
    left: str
    arithmetic: str
    is_chosen: bool = False


@dataclass(frozen=True)
class RecordLine:
    """A record of this stop in a line."""

    pk: int
    words: str
    amount: str


@dataclass(frozen=True)
class StopPage:
    """Everything of one stop but the mix."""

    pk: int
    customer: str
    address: str
    kind: str
    reasons: tuple[str, ...]
    note: str
    state_word: str
    is_booked: bool
    is_open: bool
    arrival: str
    window_opens_at: datetime
    window: str
    position: str
    started_at: datetime | None
    finished_at: datetime | None
    ending_note: str
    access: tuple[AccessFact, ...]
    cautions: tuple[Remark, ...]
    preferences: tuple[Remark, ...]
    zones: tuple[ZoneRow, ...]
    line: SafeString
    records: tuple[RecordLine, ...]
    history: tuple[HistoryRow, ...]
    contacts: tuple[Call, ...]


def zone_of(person: Person) -> ZoneInfo:
    """Return the time zone of the person's branch: dates and hours on the phone are local."""
    return ZoneInfo(person.branch.time_zone)


def own_visit(person: Person, pk: int) -> Visit:
    """Return a visit of this technician with its property; somebody else's is not found."""
    visit = (
        Visit.objects.select_related("property__branch", "property__customer", "renewal")
        .prefetch_related("property__cautions", "property__preferences__unit")
        .filter(pk=pk, technician=person)
        .first()
    )
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
            "property__cautions", "property__customer__contacts", "renewal__zones__zone"
        )
        .order_by(F("starts_at").asc(nulls_last=True), "window_opens_at", "pk")
    )
    first_open = next((visit.pk for visit in visits if visit.state in OPEN_STATES), None)
    return TodayPage(
        day=day,
        stops=tuple(_row(visit, day, is_next=visit.pk == first_open) for visit in visits),
        drive_minutes=sum(_drive(visit) for visit in visits),
    )


def _drive(visit: Visit) -> int:
    stop = getattr(visit, "route_stop", None)
    return stop.drive_minutes if stop else 0


def _row(visit: Visit, today: date, *, is_next: bool) -> StopRow:
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
        starts_at=_local(visit.starts_at, local),
        finished_at=_local(visit.finished_at, local),
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


def _local(at: datetime | None, zone: ZoneInfo) -> datetime | None:
    return at.astimezone(zone) if at else None


def _position(place: Property) -> str:
    return "" if place.latitude is None else f"{place.latitude},{place.longitude}"


def _calls(place: Property) -> tuple[Call, ...]:
    contacts = (one for one in place.customer.contacts.all() if one.phone)
    return tuple(Call(one.name, one.phone, readable(one.phone)) for one in contacts)


def _words(row: SiteCaution | Preference) -> str:
    return ", ".join(part for part in (row.get_kind_display(), row.note) if part)


def _cautions(place: Property) -> tuple[Remark, ...]:
    return tuple(Remark(_words(caution)) for caution in place.cautions.all())


def _preferences(place: Property) -> tuple[Remark, ...]:
    return tuple(
        Remark(f"{_words(one)} ({one.said_by}, {one.said_on:%b} {one.said_on.day})", one.is_hard)
        for one in place.preferences.all()
    )


def _access(visit: Visit, today: date) -> tuple[AccessFact, ...]:
    """Gate codes and keys are shown on the day of the visit only."""
    access = getattr(visit.property, "access", None)
    if access is None or visit.day != today:
        return ()
    facts = ((words, getattr(access, name)) for name, words in ACCESS_WORDS)
    return tuple(AccessFact(words, value) for words, value in facts if value)


def zone_rows(
    zones: list[TreatableZone],
    windows: dict[int, list[ResidualWindow]],
    today: date,
    chosen: frozenset[int] = frozenset(),
) -> tuple[ZoneRow, ...]:
    """Say size and days left of each zone."""
    rows = []
    for zone in zones:
        measure = zone_measure(zone)
        line = _line(zone, windows.get(zone.pk, []))
        rows.append(
            ZoneRow(
                pk=zone.pk,
                name=zone.name,
                size=measure.size_words,
                left=line_days(line, today) if line.windows else "never treated",
                arithmetic=measure.sentence,
                is_chosen=zone.pk in chosen,
            )
        )
    return tuple(rows)


def _line(zone: TreatableZone, windows: list[ResidualWindow]) -> ZoneLine:
    return ZoneLine(
        name=zone.name,
        windows=tuple(
            LineWindow(window.applied_on, window.opens_on, window.expires_on, f"{window.days} d")
            for window in windows
        ),
    )


def stop_page(person: Person, pk: int, today: date) -> StopPage:
    """Gather one stop: how to get in, what to watch, what is due and why, what was done."""
    visit = own_visit(person, pk)
    zones = list(zones_of(visit.property_id))
    windows = windows_of([zone.pk for zone in zones])
    row = _row(visit, today, is_next=False)
    return StopPage(
        pk=visit.pk,
        customer=row.customer,
        address=visit.property.address,
        kind=row.kind,
        reasons=tuple(visit.renewal.reason.split("; ")) if visit.renewal else (),
        note=visit.note,
        state_word=row.state_word,
        is_booked=visit.state == VisitState.BOOKED,
        is_open=visit.state in OPEN_STATES,
        arrival=_arrival(row),
        window_opens_at=row.window_opens_at,
        window=row.window,
        position=row.position,
        started_at=_local(visit.started_at, zone_of(person)),
        finished_at=row.finished_at,
        ending_note=visit.ending_note,
        access=_access(visit, today),
        cautions=row.cautions,
        preferences=_preferences(visit.property),
        zones=zone_rows(zones, windows, today),
        line=_drawing(zones, windows, today),
        records=tuple(_record_line(one) for one in records_of_visit(str(visit.ref))),
        history=tuple(history_of(visit.property_id, limit=5)),
        contacts=row.calls,
    )


def _record_line(record: ApplicationRecord) -> RecordLine:
    amount = f"{record.product_amount} {unit_word(record.product_unit)}"
    return RecordLine(
        pk=record.pk,
        words=record.product_name or METHOD_WORDS[Method(record.method)],
        amount=amount if record.product_amount else "no amount given",
    )


def _arrival(row: StopRow) -> str:
    if row.starts_at is None:
        return f"Promised {row.window}."
    return f"Planned {clock(row.starts_at)}, promised {row.window}."


def _drawing(
    zones: list[TreatableZone], windows: dict[int, list[ResidualWindow]], today: date
) -> SafeString:
    lines = [_line(zone, windows.get(zone.pk, [])) for zone in zones]
    drawn = [line for line in lines if line.windows]
    if not drawn:
        return SafeString("")
    svg = residual_line(
        drawn,
        today=today,
        start=today - LINE_BACK,
        end=today + LINE_AHEAD,
        width=340,
        form="narrow",
        uid="stop",
    )
    # the drawing escapes every text it is given
    return mark_safe(svg)
