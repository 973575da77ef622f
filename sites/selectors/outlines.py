"""Reading the sheet of walls and the water of a property."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404

from sites.models import OutlineWall, TreatableZone, WaterFeature
from sites.rules.places import Corners, Geometry
from sites.rules.plan_bands import corner_factor
from sites.rules.plan_outline import Outline, Wall
from sites.selectors.properties import properties_for

if TYPE_CHECKING:
    from accounts.models import Person


def walls_of(property_id: int) -> list[OutlineWall]:
    """The walls of a property in walking order."""
    return list(OutlineWall.objects.filter(property_id=property_id).order_by("position"))


def outline_from(walls: Sequence[OutlineWall]) -> Outline:
    """The walk of stored walls."""
    return Outline(tuple(Wall(one.name, one.length_mm, one.heading_tenths) for one in walls))


def waters_of(property_id: int) -> list[WaterFeature]:
    """The water on a property's plan."""
    return list(WaterFeature.objects.filter(property_id=property_id).order_by("pk"))


def water_for(person: Person | None, pk: int) -> WaterFeature:
    """One water of a property the person may see; otherwise Http404."""
    rows = WaterFeature.objects.filter(property__in=properties_for(person))
    return get_object_or_404(rows.select_related("property"), pk=pk)


def corner_factor_of(zone: TreatableZone, names: Sequence[str]) -> Decimal | None:
    """How many out² the corners between these walls of a zone's property add.

    None where the corners do not count or a name is not on the property's sheet.
    """
    if not names or zone.geometry != Geometry.BAND or zone.corners == Corners.SIMPLE:
        return None
    outline = outline_from(walls_of(zone.property_id))
    positions = [outline.named(name) for name in names]
    known = [one for one in positions if one is not None]
    if len(known) < len(names):
        return None
    return corner_factor(outline, known, Corners(zone.corners))
