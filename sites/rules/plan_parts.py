"""What stands on a property plan, in words and whole mm; who draws it needs no table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from sites.rules.places import Corners, Geometry
from sites.rules.plan_outline import Outline
from sites.rules.units import canonical

NUMBER = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*(ft|m)\b")


class Held(StrEnum):
    """What is left of a zone's protection, told by the pattern of its band."""

    HELD = "held"
    LAPSED = "lapsed"
    NONE = "none"


@dataclass(frozen=True)
class PlanZone:
    """A zone: its key on the plan, the walls it goes along, its size and what is left of it."""

    key: str
    name: str
    walls: tuple[str, ...]
    geometry: Geometry
    out_mm: int
    up_mm: int
    corners: Corners
    size: str
    left: str
    held: Held


@dataclass(frozen=True)
class PlanFinding:
    """Something found: its kind in a word, its number, and where along which wall it is."""

    kind: str
    number: int
    wall: str
    along_mm: int
    label: str


@dataclass(frozen=True)
class PlanWater:
    """Water: its middle is so far along a wall, its near edge so far away from it."""

    name: str
    wall: str
    along_mm: int
    away_mm: int
    across_mm: int
    deep_mm: int


def positions_of(zone: PlanZone, outline: Outline) -> tuple[int, ...]:
    """The walls a zone is drawn along; none when one of its runs is not on the sheet."""
    if zone.geometry not in (Geometry.BAND, Geometry.LINEAR):
        return ()
    found = [outline.named(name) for name in zone.walls]
    known = tuple(position for position in found if position is not None)
    return known if len(known) == len(found) else ()


def walls_of_zone(
    runs: Sequence[str], run_mm: int, geometry: Geometry, outline: Outline
) -> tuple[str, ...]:
    """The names of the walls of a zone: its runs, or all walls when it is as long as they are.

    `run_mm` is the zone's whole run; a mm a wall is what rounding may cost.
    """
    if runs:
        return tuple(runs)
    goes_along = geometry in (Geometry.BAND, Geometry.LINEAR)
    if goes_along and abs(run_mm - outline.perimeter_mm) <= len(outline.walls):
        return tuple(wall.name for wall in outline.walls)
    return ()


def spot_on_wall(words: str, outline: Outline) -> tuple[str, int] | None:
    """The wall and the mm along it that words such as "north wall, 12 ft" name.

    Without a length it is the middle of the wall; without a wall of the sheet it is nowhere.
    """
    text = words.casefold()
    named = [wall for wall in outline.walls if wall.name.casefold() in text]
    if not named:
        return None
    wall = max(named, key=lambda one: len(one.name))
    rest = text.replace(wall.name.casefold(), " ", 1)
    length = NUMBER.search(rest)
    if length is None:
        return wall.name, wall.length_mm // 2
    return wall.name, min(canonical(Decimal(length[1]), length[2]), wall.length_mm)
