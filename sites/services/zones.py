"""Writing treatable zones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.lines import line, one_of
from accounts.services.audit import note_event
from sites.models import TreatableZone, WallRun
from sites.rules.entries import NewZone
from sites.rules.places import CORNERS_WORDS, EXPOSURE_WORDS, PLACE_WORDS, SURFACE_WORDS
from sites.rules.units import canonical, plain
from sites.rules.wall_runs import wall_runs
from sites.rules.zone_sizes import LONGEST_RUN, zone_size
from sites.selectors.outlines import corner_factor_of
from sites.selectors.properties import (
    properties_for,
    property_for,
    treated_zone_for,
    zone_for,
    zone_measure,
)
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person

BATCH = 500
# few enough for one IN list on either engine
KEYS_AT_ONCE = 10_000


def add_zones(rows: Sequence[NewZone], *, by: Person | None) -> list[TreatableZone]:
    """Enter many zones at once, in their order, with one audit event for all.

    Refused as in `add_zone`; then none is stored. A property out of reach is Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        _within(sorted({row.property_id for row in rows}), by)
        made = [_filled(_new(row, by), row) for row in rows]
        with _once("One of these zones"):
            made = TreatableZone.objects.bulk_create(made, batch_size=BATCH)
        note_event(by=by, act="zones_added", thing="zones", count=len(made))
    return made


def add_zone(*, zone: NewZone, by: Person | None) -> TreatableZone:
    """Enter a zone of a property: lengths as typed, and the same in whole canonical units.

    Refused, naming the field: a length that is no number, below zero or beyond any building, a
    size of nothing, an unknown place, surface or exposure, a name the property has already.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        property_for(by, zone.property_id)
        return enter_zone(zone, by)


def enter_zone(zone: NewZone, by: Person | None) -> TreatableZone:
    """Store a zone of a property that the caller has authorized, in its transaction."""
    made = _saved(_filled(_new(zone, by), zone))
    _keep_runs(made, zone)
    note_event(by=by, act="zone_added", thing=made, told=_told(made))
    return made


def edit_zone(*, zone_id: int, zone: NewZone, by: Person | None) -> TreatableZone:
    """Change a zone; it stays with its property and records keep the size they were made with.

    Refused as in `add_zone`; a retired zone is Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        _take_turn(by, zone_id)
        found = treated_zone_for(by, zone_id)
        before = _told(found)
        _saved(_filled(found, zone))
        _keep_runs(found, zone)
        note_event(by=by, act="zone_edited", thing=found, before=before, told=_told(found))
    return found


def retire_zone(*, zone_id: int, today: date, by: Person | None) -> TreatableZone:
    """Stop treating a zone from `today` on; what was done there stays on record.

    Refused: a zone that is retired already.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        _take_turn(by, zone_id)
        zone = zone_for(by, zone_id)
        if zone.retired_on is not None:
            since = short_day(zone.retired_on, with_year=True)
            raise Refused("retired", f"{zone.name} is retired since {since}.")
        zone.retired_on = today
        zone.save(update_fields=["retired_on"])
        note_event(by=by, act="zone_retired", thing=zone, on=today.isoformat())
    return zone


def _take_turn(by: Person | None, zone_id: int) -> None:
    """Changing, retiring and recording wait for each other; what is read after this holds."""
    lock_property(zone_for(by, zone_id).property_id)


def _new(row: NewZone, by: Person | None) -> TreatableZone:
    return TreatableZone(property_id=row.property_id, created_by=by)


def _filled(zone: TreatableZone, row: NewZone) -> TreatableZone:
    zone.name = line(row.name, field="name", label="Name", most=80)
    zone.place = one_of(row.place, list(PLACE_WORDS), field="place", label="Place")
    zone.surface = one_of(row.surface, list(SURFACE_WORDS), field="surface", label="Surface")
    zone.exposure = one_of(row.exposure, list(EXPOSURE_WORDS), field="exposure", label="Exposure")
    zone.corners = one_of(row.corners, list(CORNERS_WORDS), field="corners", label="Corners")
    zone.length_unit = one_of(row.length_unit, ("ft", "m"), field="length_unit", label="Unit")
    zone.is_rain_protected = row.is_rain_protected
    zone.is_over_impervious = row.is_over_impervious
    for column, value in asdict(zone_size(row)).items():
        setattr(zone, column, value)
    zone.corner_factor = ""
    return zone


def _keep_runs(zone: TreatableZone, row: NewZone) -> None:
    """The runs as typed take the place of those before; records keep their own."""
    run = zone.lengths()[0]
    runs = wall_runs(
        row.runs, unit=zone.length_unit, geometry=zone.geometry, run=run, most=LONGEST_RUN
    )
    WallRun.objects.filter(zone=zone).delete()
    WallRun.objects.bulk_create(
        WallRun(zone=zone, position=place, **asdict(one)) for place, one in enumerate(runs)
    )
    _count_corners(zone, [one.name for one in runs])


def _count_corners(zone: TreatableZone, walls: Sequence[str]) -> None:
    """A band along walls of the property's sheet adds the corners between these walls."""
    factor = corner_factor_of(zone, walls)
    if factor is None:
        return
    zone.corner_factor = plain(factor)
    area = zone_measure(zone).area
    zone.area_mm2 = canonical(area.value, area.unit)
    zone.save(update_fields=["corner_factor", "area_mm2"])


def _saved(zone: TreatableZone) -> TreatableZone:
    with _once(zone.name):
        zone.save()
    return zone


@contextmanager
def _once(what: str) -> Iterator[None]:
    """A savepoint that turns a property's second zone of one name into a sentence."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as failure:
        raise Refused(
            "zone_exists",
            f"{what} is a zone of this property already, in use or retired. Give this one "
            "another name.",
            field="name",
        ) from failure


def _within(wanted: Sequence[int], by: Person | None) -> None:
    for start in range(0, len(wanted), KEYS_AT_ONCE):
        part = wanted[start : start + KEYS_AT_ONCE]
        if properties_for(by).filter(pk__in=part).count() < len(part):
            raise Http404


def _told(zone: TreatableZone) -> dict[str, object]:
    lengths = [zone.wall_run, zone.height_up, zone.width_out, zone.length_unit]
    return {"name": zone.name, "lengths": lengths, "area_mm2": zone.area_mm2}
