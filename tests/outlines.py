"""Walls and water of a property, as rows."""

from __future__ import annotations

from decimal import Decimal

from sites.models import OutlineWall, Property, WaterFeature
from sites.rules.units import canonical


def make_walls(
    place_of: Property, *walls: tuple[str, str, int], unit: str = "ft"
) -> list[OutlineWall]:
    """A box of 60 by 40 ft unless walls are given as name, length and compass degrees."""
    rows = walls or (
        ("north wall", "60", 90),
        ("east wall", "40", 180),
        ("south wall", "60", 270),
        ("west wall", "40", 0),
    )
    return OutlineWall.objects.bulk_create(
        OutlineWall(
            property=place_of,
            position=number,
            name=name,
            length_unit=unit,
            length=length,
            length_mm=canonical(Decimal(length), unit),
            heading=str(heading),
            heading_tenths=heading * 10,
        )
        for number, (name, length, heading) in enumerate(rows)
    )


def make_water(place_of: Property, wall: str = "east wall") -> WaterFeature:
    """A pond of 24 by 14 ft, 26 ft away from a wall."""
    lengths = {"along": "10", "away": "26", "across": "24", "deep": "14"}
    in_mm = {f"{name}_mm": canonical(Decimal(text), "ft") for name, text in lengths.items()}
    return WaterFeature.objects.create(
        property=place_of, name="Fish pond", wall=wall, length_unit="ft", **lengths, **in_mm
    )
