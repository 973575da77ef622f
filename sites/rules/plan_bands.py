"""Strips along walls: how corners count, their edges on a plan, and the lines that fill them.

Plane geometry. A corner that turns by t adds tan(t/2) out² when it is squared and t/2 out² when
it is rounded; an inside corner takes tan(t/2) out² away in both, where the strips of its two
walls overlap. Around a building with right angles that is 4 out² and, when it is convex, pi out².
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal
from itertools import pairwise
from math import ceil, cos, floor, hypot, pi, radians, sin, tan

from sites.rules.places import Corners
from sites.rules.plan_outline import Outline

Spot = tuple[float, float]
Ring = tuple[Spot, ...]
# house rule: a sharper corner has no square end, it is counted and drawn rounded
SHARPEST = 1_500
MILLIONTH = Decimal("0.000001")
ARC_STEP = radians(6)


def corner_factor(outline: Outline, positions: Collection[int], corners: Corners) -> Decimal:
    """How many out² the corners between these walls add, rounded to six decimals.

    `positions` are walls of the outline; a corner counts where both of its walls are among them.
    """
    if corners == Corners.SIMPLE:
        return Decimal(0)
    turns = [outline.turn(one, other) for one, other in _corners(outline, positions)]
    total = sum(_corner(turn, corners) for turn in turns)
    return Decimal(repr(total)).quantize(MILLIONTH).normalize() + 0


def _corners(outline: Outline, positions: Collection[int]) -> Iterator[tuple[int, int]]:
    last = len(outline.walls) - 1
    for one in sorted(positions):
        other = 0 if one == last else one + 1
        if other in positions and outline.joined(one, other):
            yield one, other


def _corner(turn: int, corners: Corners) -> float:
    angle = radians(turn / 10)
    is_round = turn > 0 and (corners == Corners.ROUNDED or turn > SHARPEST)
    return angle / 2 if is_round else tan(angle / 2)


def chains(outline: Outline, positions: Collection[int]) -> list[tuple[int, ...]]:
    """These walls in stretches without a break; a whole round is one stretch."""
    found: list[list[int]] = []
    for position in sorted(positions):
        if found and outline.joined(found[-1][-1], position):
            found[-1].append(position)
        else:
            found.append([position])
    if len(found) > 1 and outline.joined(found[-1][-1], found[0][0]):
        found[0] = [*found.pop(), *found[0]]
    return [tuple(chain) for chain in found]


def strip(
    outline: Outline, chain: Sequence[int], out: float, corners: Corners = Corners.SQUARE
) -> tuple[Ring, ...]:
    """The edges of a strip along a stretch of walls, `out` mm away from them.

    A negative `out` goes inside. One ring, or for a whole round two: the strip lies between them.
    """
    whole = len(chain) == len(outline.walls) and outline.joined(chain[-1], chain[0])
    inner = [outline.along(at, 0) for at in chain]
    outer: list[Spot] = []
    for before, at in pairwise([chain[-1], *chain] if whole else chain):
        outer += _bend(outline, before, at, out, corners)
    if whole:
        return tuple(outer), tuple(inner)
    end = outline.along(chain[-1], outline.walls[chain[-1]].length_mm)
    first, last = outline.outward(chain[0]), outline.outward(chain[-1])
    ring = [_away(inner[0], first, out), *outer, _away(end, last, out), end, *reversed(inner)]
    return (tuple(ring),)


def _bend(outline: Outline, before: int, at: int, out: float, corners: Corners) -> list[Spot]:
    """The outer edge at the corner between two walls."""
    corner, turn = outline.along(at, 0), outline.turn(before, at)
    (ax, ay), (bx, by) = outline.outward(before), outline.outward(at)
    is_round = turn > 0 and out > 0 and (corners == Corners.ROUNDED or turn > SHARPEST)
    if is_round or 1 + ax * bx + ay * by < 0.05:
        return _arc(corner, (ax, ay), radians(turn / 10) * -outline.outside, out)
    scale = out / (1 + ax * bx + ay * by)
    return [_away(corner, (ax + bx, ay + by), scale)]


def _arc(corner: Spot, start: Spot, right: float, out: float) -> list[Spot]:
    steps = max(1, ceil(abs(right) / ARC_STEP))
    found = []
    for step in range(steps + 1):
        angle = -right * step / steps
        x = start[0] * cos(angle) - start[1] * sin(angle)
        y = start[0] * sin(angle) + start[1] * cos(angle)
        found.append(_away(corner, (x, y), out))
    return found


def _away(spot: Spot, direction: Spot, how_far: float) -> Spot:
    return spot[0] + direction[0] * how_far, spot[1] + direction[1] * how_far


def ring_area(ring: Sequence[Spot]) -> float:
    """The area inside a ring, by the shoelace formula."""
    closed = [*ring, *ring[:1]]
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise(closed))) / 2


def ellipse(center: Spot, across: float, deep: float, heading: int) -> Ring:
    """A ring of 60 corners: `across` along the heading (tenths of a degree), `deep` beside it."""
    east, north = sin(radians(heading / 10)), cos(radians(heading / 10))
    found = []
    for step in range(60):
        a, b = across / 2 * cos(step * pi / 30), deep / 2 * sin(step * pi / 30)
        found.append((center[0] + a * east + b * north, center[1] + a * north - b * east))
    return tuple(found)


def nearest(ring: Sequence[Spot], edges: Sequence[tuple[Spot, Spot]]) -> tuple[Spot, Spot, float]:
    """The shortest way from the corners of a ring to some edges: both ends and its length."""
    ways = (_way(spot, *edge) for spot in ring for edge in edges)
    return min(ways, key=lambda way: way[2])


def _way(spot: Spot, a: Spot, b: Spot) -> tuple[Spot, Spot, float]:
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    part = ((spot[0] - a[0]) * dx + (spot[1] - a[1]) * dy) / square if square else 0.0
    foot = _away(a, (dx, dy), min(max(part, 0.0), 1.0))
    return spot, foot, hypot(spot[0] - foot[0], spot[1] - foot[1])


def hatch(rings: Sequence[Ring], spacing: float, slope: int) -> list[tuple[Spot, Spot]]:
    """Parallel lines that fill what lies between rings (even and odd), `spacing` apart.

    `slope` 1 rises to the right, -1 falls, 0 is level; screen or plan coordinates alike.
    """
    edges = [edge for ring in rings for edge in pairwise([*ring, *ring[:1]])]
    step = spacing * (2**0.5 if slope else 1)
    # a line holds every point with y - slope * x = level
    levels = [y - slope * x for (x, y), _ in edges]
    if not levels:
        return []
    found = []
    for number in range(floor(min(levels) / step), ceil(max(levels) / step) + 1):
        found += _pairs(edges, (number + 0.5) * step, slope)
    return found


def _pairs(edges: Sequence[tuple[Spot, Spot]], level: float, slope: int) -> list[tuple[Spot, Spot]]:
    hits = []
    for (x0, y0), (x1, y1) in edges:
        a, b = y0 - slope * x0 - level, y1 - slope * x1 - level
        if (a < 0) != (b < 0):
            part = a / (a - b)
            hits.append((x0 + (x1 - x0) * part, y0 + (y1 - y0) * part))
    hits.sort()
    return list(zip(hits[::2], hits[1::2], strict=False))
