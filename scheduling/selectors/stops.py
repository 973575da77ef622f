"""One stop of a technician: how to get in, what is due and why, what was done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from scheduling.models import Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import clock
from scheduling.rules.visit_states import VisitKind, VisitState
from scheduling.selectors.device_rounds import StopDevices, stop_devices
from scheduling.selectors.mix_choices import Choice
from scheduling.selectors.property_plans import PlanSheet, property_plan
from scheduling.selectors.sightings import open_sightings
from scheduling.selectors.today import (
    Call,
    Remark,
    StopRow,
    local_or_none,
    own_visit,
    remark_words,
    stop_row,
    zone_of,
)
from sites.rules.swarms import refer_swarm
from sites.rules.units import unit_word
from sites.selectors.exclusion import tasks_of
from sites.selectors.identifications import identifications_of
from sites.selectors.pests import pest_ids_of
from sites.selectors.properties import zone_measure, zones_of
from treatments.reports.residual_line import ZoneLine, line_days, residual_line
from treatments.rules.treated_parts import part_of
from treatments.selectors.record_words import as_entered, what_of
from treatments.selectors.records import HistoryRow, history_of, records_of_visit
from treatments.selectors.windows import left_out_words, line_of, protection_of, windows_of

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import ExclusionTask, Property, Sighting, TreatableZone
    from treatments.models import ApplicationRecord, ResidualWindow

LAST_IDENTIFIED = 5
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
class AccessFact:
    """One way in."""

    name: str
    value: str


@dataclass(frozen=True)
class ZoneRow:
    """One zone with its size and what is left of its protection.

    `part_unit` is what a part of it is typed in, empty where it has wall runs or no size;
    `part_whole` all of it in that unit, `part` what is planned of it.
    """

    pk: int
    name: str
    size: str
    left: str
    arithmetic: str
    is_chosen: bool = False
    part_unit: str = ""
    part_whole: Decimal = Decimal(0)
    part: str = ""

    @property
    def size_planned(self) -> str:
        """All of it, or 40 ft of 600 sq ft where a part is planned."""
        if not self.part or not self.part_unit:
            return self.size
        return f"{self.part} {self.part_word} of {self.size}"

    @property
    def part_word(self) -> str:
        return unit_word(self.part_unit)


@dataclass(frozen=True)
class RecordLine:
    """A record of this stop in a line; `again` is the mix of the same once more, if it may be."""

    pk: int
    words: str
    amount: str
    again: str = ""


@dataclass(frozen=True)
class StopPage:
    """Everything of one stop but the mix; `visit` and `recorded` are the rows it was read from."""

    visit: Visit
    recorded: tuple[ApplicationRecord, ...]
    pk: int
    property_id: int
    customer: str
    address: str
    kind: str
    reasons: tuple[str, ...]
    note: str
    state_word: str
    is_booked: bool
    is_open: bool
    is_monitoring: bool
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
    identified: tuple[Any, ...]
    devices: StopDevices
    sightings: tuple[Sighting, ...]
    tasks: tuple[ExclusionTask, ...]
    plan: PlanSheet | None
    refer: str = ""


def _preferences(place: Property) -> tuple[Remark, ...]:
    return tuple(
        Remark(
            f"{remark_words(one)} ({one.said_by}, {one.said_on:%b} {one.said_on.day})",
            one.is_hard,
        )
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
    zones: Sequence[TreatableZone],
    windows: dict[int, list[ResidualWindow]],
    today: date,
    chosen: frozenset[int] = frozenset(),
    planned: tuple[tuple[int, str], ...] = (),
) -> tuple[ZoneRow, ...]:
    """Say size and days left of each zone."""
    rows = []
    for zone in zones:
        measure = zone_measure(zone)
        line = _line(zone, windows.get(zone.pk, []))
        whole = part_of(measure)
        is_divisible = bool(whole.value) and not zone.has_runs  # type: ignore[attr-defined]
        rows.append(
            ZoneRow(
                pk=zone.pk,
                name=zone.name,
                size=measure.size_words,
                left=_left(line, windows.get(zone.pk, []), today),
                arithmetic=measure.sentence,
                is_chosen=zone.pk in chosen,
                part_unit=whole.unit if is_divisible else "",
                part_whole=whole.value,
                part=dict(planned).get(zone.pk, ""),
            )
        )
    return tuple(rows)


def _left(line: ZoneLine, windows: list[ResidualWindow], today: date) -> str:
    """What is left of the protection, and which wall runs still wait."""
    if not windows:
        return "never treated"
    waits = left_out_words(windows)
    days = line_days(line, today)
    return f"{days}; still due: {waits}" if waits else days


def _line(zone: TreatableZone, windows: list[ResidualWindow]) -> ZoneLine:
    return line_of(zone.name, windows)


def stop_page(person: Person, pk: int, today: date) -> StopPage:
    """Gather one stop: how to get in, what to watch, what is due and why, what was done."""
    visit = own_visit(person, pk)
    zones = list(zones_of(visit.property_id))
    keys = [zone.pk for zone in zones]
    windows = windows_of(keys)
    row = stop_row(visit, today, is_next=False)
    recorded = tuple(records_of_visit(str(visit.ref)))
    identified = tuple(identifications_of(visit.property_id)[:LAST_IDENTIFIED])
    sightings = open_sightings(visit.property_id)
    return StopPage(
        visit=visit,
        recorded=recorded,
        pk=visit.pk,
        property_id=visit.property_id,
        customer=row.customer,
        address=visit.property.address,
        kind=row.kind,
        reasons=tuple(visit.renewal.reason.split("; ")) if visit.renewal else (),
        note=visit.note,
        state_word=row.state_word,
        is_booked=visit.state == VisitState.BOOKED,
        is_open=visit.state in OPEN_STATES,
        is_monitoring=visit.kind == VisitKind.MONITORING,
        arrival=_arrival(row),
        window_opens_at=row.window_opens_at,
        window=row.window,
        position=row.position,
        started_at=local_or_none(visit.started_at, zone_of(person)),
        finished_at=row.finished_at,
        ending_note=visit.ending_note,
        access=_access(visit, today),
        cautions=row.cautions,
        preferences=_preferences(visit.property),
        zones=zone_rows(zones, windows, today),
        line=_drawing(zones, windows, today),
        records=_record_lines(visit, recorded),
        history=tuple(history_of(visit.property_id, limit=5)),
        contacts=row.calls,
        identified=identified,
        devices=stop_devices(visit),
        sightings=sightings,
        refer=refer_swarm(
            [
                visit.note,
                *(f"{one.what} {one.spot}" for one in sightings),
                *(f"{one.name} {one.note}" for one in identified),
            ]
        ),
        tasks=tuple(tasks_of(visit.property_id)),
        plan=property_plan(visit.property, zones, protection_of(keys), today),
    )


def _record_lines(visit: Visit, records: Sequence[ApplicationRecord]) -> tuple[RecordLine, ...]:
    latest = {record.label_use_id: record.pk for record in records if record.label_use_id}
    again = set(latest.values()) if visit.state in OPEN_STATES else set()
    pests = pest_ids_of(record.pests for record in records) if again else {}
    return tuple(_record_line(one, pests if one.pk in again else None) for one in records)


def _record_line(record: ApplicationRecord, pests: dict[str, int] | None) -> RecordLine:
    product = as_entered(record.product_amount, record.product_unit) or _no_amount(record)
    spray = as_entered(record.finished_amount, record.finished_unit)
    return RecordLine(
        pk=record.pk,
        words=what_of(record),
        amount=f"{product} in {spray}" if spray else product,
        again="" if pests is None else _again(record, pests),
    )


def _no_amount(record: ApplicationRecord) -> str:
    return "no amount given" if record.product_name else "no product"


def _again(record: ApplicationRecord, pests: dict[str, int]) -> str:
    """The address of the same mix, for another load of it."""
    choice = Choice(
        zone_ids=tuple(area.zone_id for area in record.treated_areas.all()),
        use_id=record.label_use_id,
        method=record.method,
        pest_ids=tuple(pests[name] for name in record.pests if name in pests),
        tank="",
    )
    return choice.query


def _arrival(row: StopRow) -> str:
    if row.starts_at is None:
        return f"Promised {row.window}."
    return f"Planned {clock(row.starts_at)}, promised {row.window}."


def _drawing(
    zones: list[TreatableZone], windows: dict[int, list[ResidualWindow]], today: date
) -> SafeString:
    lines = [_line(zone, windows.get(zone.pk, [])) for zone in zones]
    drawn = [line for line in lines if line.windows or line.parts]
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
