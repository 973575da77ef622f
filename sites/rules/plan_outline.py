"""The walls of a structure in walking order: corners, gap, area and perimeter.

Plane geometry: a walk of lengths and compass headings, the shoelace area, the angle at a corner.
Lengths are whole mm, headings whole tenths of a degree (0 is north, 900 east); x is east and y is
north.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin

Point = tuple[int, int]
FULL_TURN = 3_600
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


@dataclass(frozen=True)
class Wall:
    """One straight wall: name, length in mm, heading in tenths of a degree."""

    name: str
    length_mm: int
    heading: int

    @property
    def step(self) -> Point:
        """How far east and north one walks along it, each rounded to whole mm."""
        angle = radians(self.heading / 10)
        return round(self.length_mm * sin(angle)), round(self.length_mm * cos(angle))


@dataclass(frozen=True)
class Outline:
    """The walls of one structure as they are walked; they need not close."""

    walls: tuple[Wall, ...]

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Where each wall begins, from (0, 0), and where the last one ends."""
        found = [(0, 0)]
        for wall in self.walls:
            east, north = wall.step
            found.append((found[-1][0] + east, found[-1][1] + north))
        return tuple(found)

    @property
    def gap_mm(self) -> int:
        """How far the end of the last wall is from the beginning of the first."""
        east, north = self.points[-1]
        return round(hypot(east, north))

    @property
    def closes(self) -> bool:
        """Whether the walk comes back, but for what rounding may cost.

        That is a mm a wall, and half a tenth of a degree of a wall that is not square to north.
        """
        slanted = sum(wall.length_mm for wall in self.walls if wall.heading % 900)
        return len(self.walls) > 2 and self.gap_mm <= len(self.walls) + slanted * radians(0.05)

    @property
    def gap_toward(self) -> str:
        """Where the end lies, seen from the beginning: "north-east"."""
        east, north = self.points[-1]
        return POINTS[round(degrees(atan2(east, north)) / 45) % 8]

    @property
    def perimeter_mm(self) -> int:
        """The walls added up, without the gap."""
        return sum(wall.length_mm for wall in self.walls)

    @property
    def area_mm2(self) -> int:
        """The area inside, by the shoelace formula; a gap is closed by a straight line."""
        return abs(twice_area(self.points)) // 2

    @property
    def outside(self) -> int:
        """On which hand the outside is while walking: -1 left (clockwise walk), 1 right."""
        return 1 if twice_area(self.points) > 0 else -1

    def turn(self, first: int, second: int) -> int:
        """The turn from one wall into another, tenths of a degree, positive at an outside corner.

        Between -1800 and 1800; `first` and `second` are positions in `walls`.
        """
        change = self.walls[second].heading - self.walls[first].heading
        right = (change + 1_800) % FULL_TURN - 1_800
        return right * -self.outside

    def joined(self, first: int, second: int) -> bool:
        """Whether the second wall begins where the first one ends."""
        if second == first + 1:
            return True
        return self.closes and first == len(self.walls) - 1 and second == 0

    @cached_property
    def crossing(self) -> tuple[str, str] | None:
        """The names of the first two walls that cross each other, if any do."""
        lines = list(pairwise(self.points))
        for one in range(len(lines)):
            for other in range(one + 2, len(lines)):
                if self.joined(other, one):
                    continue
                if crosses(*lines[one], *lines[other]):
                    return self.walls[one].name, self.walls[other].name
        return None

    def along(self, position: int, offset_mm: int) -> tuple[float, float]:
        """The point of a wall so far from its beginning, never beyond its end."""
        wall = self.walls[position]
        part = min(max(offset_mm, 0), wall.length_mm) / wall.length_mm
        (x, y), (east, north) = self.points[position], wall.step
        return x + east * part, y + north * part

    def outward(self, position: int) -> tuple[float, float]:
        """One mm straight away from a wall, on the outside."""
        angle = radians(self.walls[position].heading / 10)
        return self.outside * cos(angle), -self.outside * sin(angle)

    def named(self, name: str) -> int | None:
        """The position of the wall of that name."""
        for position, wall in enumerate(self.walls):
            if wall.name.casefold() == name.casefold():
                return position
        return None


def twice_area(points: Sequence[Point]) -> int:
    """Twice the signed shoelace area of a polygon, positive when it is walked left around."""
    closed = [*points, *points[:1]]
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(closed))


def _side(a: Point, b: Point, c: Point) -> int:
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (cross > 0) - (cross < 0)


def crosses(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the inside of ab crosses the inside of cd; touching does not count."""
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0
