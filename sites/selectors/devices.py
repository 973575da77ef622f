"""Reading devices: of a property, one with its history, the rows of the device map."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, QuerySet, Subquery
from django.http import Http404

from accounts.rules.day_words import short_day
from accounts.selectors.open_items import open_about
from sites.models import Device, DeviceCheck, DeviceThreshold, Property
from sites.rules.devices.entries import AddedBait, added_words
from sites.rules.devices.numbers import device_code
from sites.rules.devices.thresholds import Threshold, house_rule
from sites.rules.devices.words import EATEN_WORDS, KIND_WORDS, eaten_words
from sites.selectors.properties import properties_for

if TYPE_CHECKING:
    from accounts.models import OpenItem, Person

SHOWN_CHECKS = 100
THING = Device._meta.label_lower


@dataclass(frozen=True)
class DeviceRow:
    """One device in words with its last check; `matters` are the open items about it."""

    pk: int
    number: int
    kind: str
    kind_words: str
    place: str
    zone: str
    plan: str
    holds: str
    turn: int
    placed_on: str
    code: str
    last: str
    last_on: str
    removed: str
    matters: tuple[str, ...] = ()

    @property
    def is_removed(self) -> bool:
        return bool(self.removed)


@dataclass(frozen=True)
class CheckRow:
    """One check in words."""

    on: str
    words: str
    by: str
    received: str
    note: str


def thing_of(device_id: int) -> str:
    """How open items name a device."""
    return f"{THING}:{device_id}"


def devices_of(property_id: int) -> QuerySet[Device]:
    """The devices of a property that are in place, in walking order."""
    rows = Device.objects.filter(property_id=property_id, removal__isnull=True)
    return rows.select_related("zone", "removal").order_by("turn", "number")


def every_device_of(property_id: int) -> QuerySet[Device]:
    """The devices of a property, removed ones too, by number."""
    rows = Device.objects.filter(property_id=property_id)
    return rows.select_related("zone", "removal").order_by("number")


def numbers_of(property_id: int) -> set[int]:
    """Every number that a property has used."""
    return set(Device.objects.filter(property_id=property_id).values_list("number", flat=True))


def device_for(person: Person | None, pk: int) -> Device:
    """One device of a property the person may see; otherwise Http404."""
    rows = Device.objects.filter(property__in=properties_for(person))
    found = rows.select_related("property__branch", "zone", "removal").filter(pk=pk).first()
    if found is None:
        raise Http404("No such device.")
    return found


def device_rows(place: Property, *, with_removed: bool = False) -> tuple[DeviceRow, ...]:
    """The devices of a property in words, in walking order; a fixed number of queries."""
    rows = every_device_of(place.pk) if with_removed else devices_of(place.pk)
    devices = list(rows)
    last = last_checks([one.pk for one in devices])
    open_now: dict[str, list[str]] = {}
    for item in matters_of(devices):
        open_now.setdefault(item.thing, []).append(item.sentence)
    local = ZoneInfo(place.branch.time_zone)
    return tuple(
        _row(one, last.get(one.pk), tuple(open_now.get(thing_of(one.pk), ())), local)
        for one in devices
    )


def devices_in_short(property_id: int) -> tuple[int, tuple[str, ...]]:
    """How many devices are in place, and what is open about them; two queries."""
    devices = list(devices_of(property_id))
    return len(devices), tuple(item.sentence for item in matters_of(devices)) if devices else ()


def matters_of(devices: Iterable[Device]) -> list[OpenItem]:
    """What is open about devices; one query."""
    return open_about([thing_of(one.pk) for one in devices])


def last_checks(device_ids: Collection[int]) -> dict[int, DeviceCheck]:
    """The newest check of each device that was ever checked, with its counts; two queries."""
    newest = DeviceCheck.objects.filter(device=OuterRef("pk")).order_by("-captured_at", "-pk")
    keys = Device.objects.filter(pk__in=device_ids).annotate(last=Subquery(newest.values("pk")[:1]))
    rows = DeviceCheck.objects.filter(pk__in=keys.values("last")).prefetch_related("counts")
    return {row.device_id: row for row in rows}


def _row(
    device: Device, last: DeviceCheck | None, matters: tuple[str, ...], local: ZoneInfo
) -> DeviceRow:
    removal = getattr(device, "removal", None)
    removed = ""
    if removal is not None:
        removed = f"{short_day(removal.removed_on, True)}, {removal.get_reason_display().lower()}"
    return DeviceRow(
        pk=device.pk,
        number=device.number,
        kind=device.kind,
        kind_words=device.get_kind_display(),
        place=device.place,
        zone=device.zone.name if device.zone else "",
        plan=plan_words(device),
        holds=device.holds,
        turn=device.turn,
        placed_on=short_day(device.placed_on, True),
        code=device_code(device.property_id, device.number),
        last=check_words(last) if last else "not checked yet",
        last_on=short_day(last.captured_at.astimezone(local).date(), True) if last else "",
        removed=removed,
        matters=matters,
    )


def plan_words(device: Device) -> str:
    """Where a device is on the plan: a wall and the way along it, or two ways, in m."""
    if device.wall:
        return f"{device.wall}, {_meters(device.offset_mm or 0)} along"
    if device.x_mm is not None and device.y_mm is not None:
        return f"{_meters(device.x_mm)} right, {_meters(device.y_mm)} up"
    return ""


def _meters(mm: int) -> str:
    return f"{mm / 1000:.1f} m"


def check_words(check: DeviceCheck) -> str:
    """A check in a line: what was found, counted, eaten, added."""
    parts = [check.get_outcome_display()]
    parts += [str(count) for count in check.counts.all()]
    if check.eaten is not None:
        parts.append(f"bait eaten: {eaten_words(check.eaten)}")
    parts += [f"{number} pieces {words}" for number, words in _taken_out(check) if number]
    if check.added_pieces:
        added = (check.added_pieces, check.added_each, check.added_unit)
        parts.append(f"added {added_words(*added, check.added_product, check.added_lot)}")
    if check.is_damaged:
        parts.append("damaged")
    return ", ".join(parts)


def _taken_out(check: DeviceCheck) -> tuple[tuple[int, str], ...]:
    return ((check.spoiled, "spoiled"), (check.removed, "removed"))


def history_of_device(device: Device) -> tuple[CheckRow, ...]:
    """The last hundred checks of a device, the newest first; two queries."""
    local = ZoneInfo(device.property.branch.time_zone)
    rows = device.checks.select_related("by").prefetch_related("counts")[:SHOWN_CHECKS]
    return tuple(
        CheckRow(
            on=_moment(row.captured_at, local),
            words=check_words(row),
            by=row.by.full_name,
            received=_late(row, local),
            note=row.note,
        )
        for row in rows
    )


def _moment(at: datetime, local: ZoneInfo) -> str:
    here = at.astimezone(local)
    return f"{short_day(here.date(), True)}, {here:%H:%M}"


def _late(check: DeviceCheck, local: ZoneInfo) -> str:
    """When it arrived, where that was not the minute it was seen."""
    seen, came = _moment(check.captured_at, local), _moment(check.received_at, local)
    return "" if seen == came else came


def device_map(place: Property) -> tuple[tuple[str, ...], ...]:
    """Number, kind, place and last check of every device in place, for paper."""
    return tuple(
        (str(row.number), row.kind_words, _where(row), _looked_at(row))
        for row in device_rows(place)
    )


def _where(row: DeviceRow) -> str:
    return ", ".join(part for part in (row.place, row.zone, row.plan) if part)


def _looked_at(row: DeviceRow) -> str:
    return f"{row.last_on}: {row.last}" if row.last_on else row.last


def thresholds_of(property_id: int) -> QuerySet[DeviceThreshold]:
    """What the firm has set for a property."""
    rows = DeviceThreshold.objects.filter(property_id=property_id)
    return rows.select_related("pest").order_by("kind", "pk")


def threshold_for(person: Person | None, pk: int) -> DeviceThreshold:
    """One threshold of a property the person may see; otherwise Http404."""
    rows = DeviceThreshold.objects.filter(property__in=properties_for(person))
    found = rows.select_related("property", "pest").filter(pk=pk).first()
    if found is None:
        raise Http404("No such threshold.")
    return found


def as_rules(rows: Iterable[DeviceThreshold]) -> tuple[Threshold, ...]:
    """Stored thresholds as the rule takes them."""
    return tuple(Threshold(row.kind, row.pest_id, row.count_from, row.eaten_from) for row in rows)


def house_rules(kinds: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Kind and limit in words, as they hold until the firm sets others."""
    rules = (house_rule(kind) for kind in sorted(set(kinds)))
    return tuple((KIND_WORDS[one.kind], limit_words(one)) for one in rules)  # type: ignore[index]


def limit_words(row: Threshold | DeviceThreshold) -> str:
    """3 or more of one pest, or 1/2 of the bait eaten."""
    parts = []
    if row.count_from is not None:
        parts.append(f"{row.count_from} or more of one pest")
    if row.eaten_from is not None:
        parts.append(f"{EATEN_WORDS[row.eaten_from].lower()} of the bait eaten or more")
    return ", or ".join(parts)


def bait_added_at(visit_ref: str) -> Sequence[DeviceCheck]:
    """The checks of a visit at which bait was added, in walking order."""
    rows = DeviceCheck.objects.filter(visit_ref=visit_ref, added_pieces__gt=0)
    return list(
        rows.select_related("device__zone").order_by("device__turn", "device__number", "pk")
    )


def last_bait_of(person_id: int) -> AddedBait | None:
    """The bait that a person put into a device last; one query."""
    rows = DeviceCheck.objects.filter(by=person_id, added_pieces__gt=0)
    last = rows.order_by("-captured_at", "-pk").first()
    if last is None:
        return None
    return AddedBait(
        last.added_pieces,
        last.added_each,
        last.added_unit,
        last.added_ref,
        last.added_product,
        last.added_lot,
    )


def checks_of_visit(visit_ref: str) -> dict[int, DeviceCheck]:
    """The last check of each device at a visit, with its counts; two queries."""
    rows = DeviceCheck.objects.filter(visit_ref=visit_ref).order_by("captured_at", "pk")
    return {row.device_id: row for row in rows.prefetch_related("counts")} if visit_ref else {}
