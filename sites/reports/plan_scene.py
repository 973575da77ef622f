"""Where things of a property plan are on the sheet: scale, frame, and what is taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from sites.rules.plan_bands import Ring, Spot, chains, ellipse, strip
from sites.rules.plan_labels import HAND, SCREEN, Box, Face
from sites.rules.plan_outline import Outline
from sites.rules.plan_parts import PlanWater, PlanZone, positions_of
from sites.rules.units import canonical

FOOT = 36.0
# no label comes nearer to a line than this, in px
CLEAR = 4.0
PIECE = 12.0


@dataclass(frozen=True)
class Sheet:
    """One form of the drawing in px: its width, margins, and how high what is drawn may be."""

    width: float
    beside: float
    above: float
    most: float
    face: Face = SCREEN


SHEETS = {
    "wide": Sheet(720, 120, 64, 380),
    "narrow": Sheet(340, 44, 72, 300),
    "hand": Sheet(340, 52, 88, 300, HAND),
}
BARS = (1, 2, 5, 10, 20, 40, 100, 200, 400, 1_000, 2_000, 4_000)


@dataclass(frozen=True)
class Scene:
    """The plan on its sheet: mm become px, north becomes up."""

    scale: float
    left: float
    top: float
    origin: Spot
    width: float
    height: float
    outline: Outline
    edges: tuple[tuple[Spot, Spot], ...]
    face: Face

    @property
    def frame(self) -> Box:
        """Where words may stand."""
        return Box(6, 4, self.width - 12, self.height - FOOT - 8)

    def px(self, spot: Spot) -> Spot:
        """A spot of the plan on the sheet."""
        x = self.left + (spot[0] - self.origin[0]) * self.scale
        return x, self.top + (self.origin[1] - spot[1]) * self.scale

    def ring(self, ring: Sequence[Spot]) -> Ring:
        """Spots of the plan on the sheet."""
        return tuple(self.px(spot) for spot in ring)

    def rings(self, rings: Sequence[Ring]) -> tuple[Ring, ...]:
        """Several rings on the sheet."""
        return tuple(self.ring(ring) for ring in rings)

    def has(self, water: PlanWater) -> bool:
        """Whether the wall that water is measured from is on the sheet of walls."""
        return self.outline.named(water.wall) is not None

    def center(self, water: PlanWater) -> Spot:
        """The middle of water."""
        return center_of(water, self.outline)

    def shore(self, water: PlanWater) -> Ring:
        """The edge of water."""
        return shore_of(water, self.outline)

    def middle(self, outline: Outline) -> Spot:
        """The middle of the walls, weighed by their length."""
        total = outline.perimeter_mm
        x = y = 0.0
        for position, wall in enumerate(outline.walls):
            east, north = outline.along(position, wall.length_mm // 2)
            x, y = x + east * wall.length_mm / total, y + north * wall.length_mm / total
        return x, y

    def has_room_inside(self, up_mm: int) -> bool:
        """Whether a strip folded inward leaves something of the house."""
        xs, ys = zip(*self.outline.points, strict=True)
        return bool(3 * up_mm < min(max(xs) - min(xs), max(ys) - min(ys)))

    def inside(self, zones: Sequence[PlanZone], position: int) -> int:
        """How far strips are folded inward from a wall, in mm."""
        up = _most(zones, self.outline, position, "up_mm")
        return up if self.has_room_inside(up) else 0

    def wall_boxes(self, outline: Outline, zones: Sequence[PlanZone]) -> Iterator[Box]:
        """The walls with their widest bands, in pieces."""
        for position, wall in enumerate(outline.walls):
            out = _most(zones, outline, position, "out_mm")
            clear = CLEAR / self.scale
            ends = (clear + out, -clear - self.inside(zones, position))
            count = max(1, round(wall.length_mm * self.scale / PIECE))
            for one, other in pairwise(range(count + 1)):
                yield self._piece(position, (one / count, other / count), ends)

    def _piece(self, position: int, part: Spot, ends: Spot) -> Box:
        length = self.outline.walls[position].length_mm
        dx, dy = self.outline.outward(position)
        spots = []
        for at in part:
            x, y = self.outline.along(position, round(length * at))
            spots += [self.px((x + dx * end, y + dy * end)) for end in ends]
        return around(spots)

    def water_boxes(self, waters: Sequence[PlanWater]) -> Iterator[Box]:
        """The water, but for a line of words in its middle."""
        for water in waters:
            if self.has(water):
                box = around(self.ring(self.shore(water)))
                y = self.px(self.center(water))[1]
                half = self.face.line * 0.75
                yield Box(box.x, box.y, box.width, max(0, y - half - box.y))
                yield Box(box.x, y + half, box.width, max(0, box.y + box.height - y - half))

    def bar(self, unit: str) -> tuple[Decimal, float]:
        """A round length for the scale bar and how long it is drawn."""
        one = canonical(Decimal(1), unit) * self.scale
        fits = [bar for bar in BARS if bar * one <= self.width / 3] or [BARS[0]]
        return Decimal(fits[-1]), fits[-1] * one


def _most(zones: Sequence[PlanZone], outline: Outline, position: int, column: str) -> int:
    here = [zone for zone in zones if position in positions_of(zone, outline)]
    return max((getattr(zone, column) for zone in here), default=0)


def center_of(water: PlanWater, outline: Outline) -> Spot:
    """The middle of water, in mm."""
    position = outline.named(water.wall) or 0
    x, y = outline.along(position, water.along_mm)
    dx, dy = outline.outward(position)
    away = water.away_mm + water.deep_mm / 2
    return x + dx * away, y + dy * away


def shore_of(water: PlanWater, outline: Outline) -> Ring:
    """The edge of water, an ellipse along its wall, in mm."""
    heading = outline.walls[outline.named(water.wall) or 0].heading
    return ellipse(center_of(water, outline), water.across_mm, water.deep_mm, heading)


def band_edges(outline: Outline, zones: Sequence[PlanZone]) -> Iterator[tuple[Spot, Spot]]:
    """The outer edges of bands and the walls: what water is measured to."""
    yield from pairwise(outline.points)
    for zone in zones:
        for chain in chains(outline, positions_of(zone, outline)):
            outer = strip(outline, chain, zone.out_mm, zone.corners)[0]
            yield from pairwise([*outer, outer[0]])


def around(spots: Sequence[Spot]) -> Box:
    """The smallest rectangle round some spots."""
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def scene_of(
    outline: Outline,
    zones: Sequence[PlanZone],
    waters: Sequence[PlanWater],
    form: str,
    room: float,
) -> Scene:
    """Put a plan on the sheet of a form, with `room` px more above and below for words."""
    sheet = SHEETS[form]
    edges = tuple(band_edges(outline, zones))
    shores = [shore_of(one, outline) for one in waters if outline.named(one.wall) is not None]
    every = around([spot for edge in edges for spot in edge] + [s for ring in shores for s in ring])
    wide, high = sheet.width - 2 * sheet.beside, sheet.most
    scale = min(wide / max(every.width, 1), high / max(every.height, 1))
    above = sheet.above + room
    return Scene(
        scale=scale,
        left=(sheet.width - every.width * scale) / 2,
        top=above,
        origin=(every.x, every.y + every.height),
        width=sheet.width,
        height=every.height * scale + 2 * above + FOOT,
        outline=outline,
        edges=edges,
        face=sheet.face,
    )
