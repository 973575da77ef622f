"""Writing the sheet of walls, the bands that follow from it, and the water near it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.services.audit import note_event
from sites.models import OutlineWall, TreatableZone, WaterFeature
from sites.rules.entries import NewZone
from sites.rules.places import Geometry
from sites.rules.plan_walls import LONGEST_WALL, TypedWall, read_walls
from sites.rules.units import canonical, parse_amount, plain
from sites.selectors.outlines import walls_of, water_for
from sites.selectors.properties import property_for
from sites.services.locks import lock_property
from sites.services.zones import add_zone

if TYPE_CHECKING:
    from accounts.models import Person

UNITS = ("ft", "m")
WATER_LENGTHS = ("along", "away", "across", "deep")
NO_SHEET = "This property has no sheet of walls yet. Type the walls first."


def set_outline(
    *, property_id: int, unit: str, rows: Sequence[TypedWall], by: Person | None
) -> list[OutlineWall]:
    """Keep the walls of a property as typed, in the place of those before; none is no sheet.

    Zones keep the size they were measured with. Refused, naming the field, as in `read_walls`.
    """
    require(by, Permission.EDIT_PROPERTIES)
    one_of(unit, UNITS, field="unit", label="Unit")
    read = read_walls(rows, unit)
    with transaction.atomic():
        place = property_for(by, property_id)
        lock_property(place.pk)
        OutlineWall.objects.filter(property=place).delete()
        made = OutlineWall.objects.bulk_create(
            OutlineWall(property=place, position=number, length_unit=unit, **asdict(one))
            for number, one in enumerate(read)
        )
        note_event(by=by, act="walls_entered", thing=place, count=len(made))
    return made


def add_band(*, zone: NewZone, walls: Collection[str], by: Person | None) -> TreatableZone:
    """Make a band of the named walls of the sheet: its run and its runs come from there.

    `zone` brings name, place, height, width and the form of the corners. Refused: a property
    without a sheet, no wall, a wall that is not on the sheet, and as in `add_zone`.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        place = property_for(by, zone.property_id)
        chosen = [one for one in walls_of(place.pk) if one.name in walls]
        if not chosen or len(chosen) < len(set(walls)):
            raise Refused("walls", "Tick the walls this band goes along.", field="walls")
        run = sum((Decimal(one.length) for one in chosen), Decimal(0))
        measured = replace(
            zone,
            geometry=Geometry.BAND,
            wall_run=plain(run),
            length_unit=chosen[0].length_unit,
            runs="\n".join(f"{one.name} {one.length}" for one in chosen),
        )
        return add_zone(zone=measured, by=by)


def add_water(
    *, property_id: int, name: str, wall: str, lengths: Mapping[str, str], by: Person | None
) -> WaterFeature:
    """Put water on the plan: `lengths` are along, away, across and deep as typed.

    They are in the unit of the sheet. Refused, naming the field: no sheet, a wall that is not on
    it, a length that is no number, water without a size.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        place = property_for(by, property_id)
        walls = walls_of(place.pk)
        if not walls:
            raise Refused("walls", NO_SHEET)
        one_of(wall, [one.name for one in walls], field="wall", label="Wall")
        unit = walls[0].length_unit
        typed = {field: _length(lengths[field], unit, field) for field in WATER_LENGTHS}
        _refuse_nothing(typed)
        made = WaterFeature.objects.create(
            property=place,
            name=line(name, field="name", label="Name", most=60),
            wall=wall,
            length_unit=unit,
            **{field: plain(value) for field, value in typed.items()},
            **{f"{field}_mm": canonical(value, unit) for field, value in typed.items()},
            created_by=by,
        )
        note_event(by=by, act="water_added", thing=place, water=made.pk)
    return made


def remove_water(*, water_id: int, by: Person | None) -> None:
    """Take water off the plan."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        water = water_for(by, water_id)
        note_event(by=by, act="water_removed", thing=water.property, water=water.pk)
        water.delete()


def _length(typed: str, unit: str, field: str) -> Decimal:
    try:
        return parse_amount(typed or "0", unit, at_most=LONGEST_WALL).value
    except Refused as refused:
        raise Refused("water", refused.sentence, field=field) from refused


def _refuse_nothing(typed: Mapping[str, Decimal]) -> None:
    for field in ("across", "deep"):
        if typed[field] < Decimal("0.1"):
            raise Refused("water", "Water has a size. Measure it, or pace it.", field=field)
