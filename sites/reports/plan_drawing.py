"""The property plan as lines and words in px, from which screen and paper are drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import inf
from typing import Literal

from sites.reports.plan_scene import Scene, scene_of
from sites.rules.places import Geometry
from sites.rules.plan_bands import Ring, Spot, chains, hatch, nearest, strip
from sites.rules.plan_labels import Box, Label, place_labels
from sites.rules.plan_outline import Outline
from sites.rules.plan_parts import Held, PlanFinding, PlanWater, PlanZone, positions_of
from sites.rules.plan_walls import length_words
from sites.rules.units import Amount, display, group, unit_word

Form = Literal["wide", "narrow", "hand"]
EDGES = {Held.HELD: "l-band", Held.LAPSED: "l-lapsed", Held.NONE: "l-bare"}


@dataclass(frozen=True)
class Stroke:
    """Lines of one kind; `closed` ones are rings."""

    kind: str
    lines: tuple[Ring, ...]
    closed: bool = False


@dataclass(frozen=True)
class Words:
    """Words that begin at a spot, or are centered on it."""

    kind: str
    x: float
    y: float
    text: str
    centered: bool = False


@dataclass(frozen=True)
class Plan:
    """What is drawn on a property plan, and the unit its lengths are said in."""

    outline: Outline
    zones: tuple[PlanZone, ...]
    findings: tuple[PlanFinding, ...]
    waters: tuple[PlanWater, ...]
    unit: str
    title: str


@dataclass(frozen=True)
class Drawing:
    """A drawing of its size in px, with the same in words."""

    width: float
    height: float
    items: tuple[Stroke | Words, ...]
    title: str
    words: str


def draw(plan: Plan, form: Form) -> Drawing:
    """Draw a plan to scale, north up; room is added until every label has found its place."""
    drawn: Drawing | None = None
    for room in (0, 70, 160):
        scene = scene_of(plan.outline, plan.zones, plan.waters, form, room)
        labels = _labels(plan, scene, form)
        boxes = place_labels([one for one, _ in labels], _taken(plan, scene), scene.frame)
        items = tuple(_items(plan, scene, labels, boxes))
        drawn = Drawing(scene.width, scene.height, items, plan.title, plan_words(plan))
        # what says nothing that the table lacks may stay out
        if all(box or label.reach < inf for (label, _), box in zip(labels, boxes, strict=True)):
            break
    assert drawn is not None
    return drawn


def plan_words(plan: Plan) -> str:
    """The drawing in a few sentences."""
    outline = plan.outline
    said = [
        f"{length_words(outline.perimeter_mm, plan.unit)} of wall in {len(outline.walls)} runs",
        f"{_area(plan)} in plan" if outline.closes else "the walls do not close",
        *(f"{zone.key} {zone.name}, {zone.size}, {zone.left}" for zone in plan.zones),
        *(f"finding {one.number}, {one.label}, {one.wall}" for one in plan.findings),
        *(f"{water.name} at {water.wall}" for water in plan.waters),
    ]
    return "; ".join(said)


def _area(plan: Plan) -> str:
    unit = f"{plan.unit}2"
    value = Amount(Decimal(plan.outline.area_mm2), "mm2").to(unit)
    return display(value, 0)


def _labels(plan: Plan, scene: Scene, form: Form) -> list[tuple[Label, str]]:
    """Every label with its kind, in the order in which they choose their place."""
    every = [
        *((_mark(one, plan, scene), f"mark {one.number}") for one in _on_walls(plan)),
        *((label, "zone") for label in _zone_labels(plan, scene, form)),
        *((label, "water") for water in plan.waters for label in _water_labels(water, plan, scene)),
        (_house(plan, scene), "house"),
        *((label, "length") for label in _lengths(plan, scene)),
    ]
    return [(replace(label, face=scene.face), kind) for label, kind in every]


def _on_walls(plan: Plan) -> list[PlanFinding]:
    return [one for one in plan.findings if plan.outline.named(one.wall) is not None]


def _mark(one: PlanFinding, plan: Plan, scene: Scene) -> Label:
    return Label(("999",), *scene.px(_spot(one, plan.outline)))


def _spot(one: PlanFinding, outline: Outline) -> Spot:
    return outline.along(outline.named(one.wall) or 0, one.along_mm)


def _zone_labels(plan: Plan, scene: Scene, form: Form) -> Iterator[Label]:
    for number, zone in enumerate(plan.zones):
        positions = positions_of(zone, plan.outline)
        if not positions:
            continue
        longest = sorted(positions, key=lambda at: -plan.outline.walls[at].length_mm)
        spot = scene.px(_beside(plan.outline, longest[number % len(longest)], zone.out_mm / 2))
        if form == "wide":
            yield Label((f"{zone.key} {_short(zone.name)}", zone.size, zone.left), *spot)
        else:
            yield Label((zone.key, zone.size, zone.left), *spot)


def _short(name: str) -> str:
    return name if len(name) <= 24 else f"{name[:23].rstrip()}…"


def _beside(outline: Outline, position: int, out: float) -> Spot:
    x, y = outline.along(position, outline.walls[position].length_mm // 2)
    dx, dy = outline.outward(position)
    return x + dx * out, y + dy * out


def _water_labels(water: PlanWater, plan: Plan, scene: Scene) -> Iterator[Label]:
    """Its name on it, and beside the dashed line how far it is from the nearest band or wall."""
    if scene.has(water):
        yield Label((_short(water.name),), *scene.px(scene.center(water)))
        near, foot, how_far = nearest(scene.shore(water), scene.edges)
        x, y = scene.px(((near[0] + foot[0]) / 2, (near[1] + foot[1]) / 2))
        said = length_words(round(how_far), plan.unit)
        yield Label((said,), x, y - 10, small=True, reach=20)


def _house(plan: Plan, scene: Scene) -> Label:
    runs = f"{length_words(plan.outline.perimeter_mm, plan.unit)} of wall"
    area = f"{_area(plan)} in plan" if plan.outline.closes else "does not close"
    return Label(("House", area, runs), *scene.px(scene.middle(plan.outline)), reach=24)


def _lengths(plan: Plan, scene: Scene) -> Iterator[Label]:
    """How long each wall is, on its inside."""
    for position, wall in enumerate(plan.outline.walls):
        inside = scene.inside(plan.zones, position) + 14 / scene.scale
        spot = scene.px(_beside(plan.outline, position, -inside))
        yield Label((length_words(wall.length_mm, plan.unit),), *spot, small=True, reach=10)


def _taken(plan: Plan, scene: Scene) -> list[Box]:
    """Where walls, bands and water are: words stand beside them."""
    return [*scene.wall_boxes(plan.outline, plan.zones), *scene.water_boxes(plan.waters)]


def _items(
    plan: Plan,
    scene: Scene,
    labels: Sequence[tuple[Label, str]],
    boxes: Sequence[Box | None],
) -> Iterator[Stroke | Words]:
    for water in plan.waters:
        yield from _water(water, plan, scene)
    widest_first = sorted(enumerate(plan.zones), key=lambda pair: -pair[1].out_mm)
    for number, zone in widest_first:
        yield from _zone(zone, number, plan.outline, scene)
    yield from _walls(plan, scene)
    for (label, kind), box in zip(labels, boxes, strict=True):
        if box is not None:
            yield from _said(label, kind, box)
    yield from _scale(plan, scene)
    yield from _north(scene)


def _water(water: PlanWater, plan: Plan, scene: Scene) -> Iterator[Stroke | Words]:
    if not scene.has(water):
        return
    ring = scene.ring(scene.shore(water))
    yield Stroke("l-water", (ring,), True)
    yield Stroke("l-wave", tuple(hatch([ring], 6, 0)))
    near, foot, how_far = nearest(scene.shore(water), scene.edges)
    if how_far > 1:
        yield Stroke("l-dim", ((scene.px(near), scene.px(foot)),))


def _zone(zone: PlanZone, number: int, outline: Outline, scene: Scene) -> Iterator[Stroke]:
    positions = positions_of(zone, outline)
    slope = 1 if number % 2 else -1
    for chain in chains(outline, positions):
        if zone.geometry == Geometry.LINEAR:
            edge = strip(outline, chain, 4 / scene.scale)[0]
            yield Stroke("l-eave", (scene.ring(edge),), True)
            continue
        if zone.out_mm:
            rings = scene.rings(strip(outline, chain, zone.out_mm, zone.corners))
            yield Stroke(EDGES[zone.held], rings, True)
            if zone.held == Held.HELD:
                yield Stroke("l-hatch", tuple(hatch(rings, 5, slope)))
        if zone.up_mm and scene.has_room_inside(zone.up_mm):
            inside = scene.rings(strip(outline, chain, -zone.up_mm))
            yield Stroke("l-up", tuple(hatch(inside, 5, -slope)))


def _walls(plan: Plan, scene: Scene) -> Iterator[Stroke | Words]:
    line = scene.ring(plan.outline.points)
    yield Stroke("l-wall", (line,))
    if not plan.outline.closes and len(line) > 2:
        yield Stroke("l-gap", ((line[-1], line[0]),))
        x, y = (line[-1][0] + line[0][0]) / 2, (line[-1][1] + line[0][1]) / 2
        gap = f"gap {length_words(plan.outline.gap_mm, plan.unit)}"
        # kept inside the sheet, however near its edge the gap is
        x = min(max(x, 50), scene.width - 50)
        yield Words("t halo refuse", x, y - 4, gap, True)


def _said(label: Label, kind: str, box: Box) -> Iterator[Stroke | Words]:
    if kind.startswith("mark "):
        yield from _triangle(label, kind.removeprefix("mark "), box)
        return
    if kind == "zone":
        edge = box.edge_toward(label.x, label.y)
        yield Stroke("l-lead", ((edge, (label.x, label.y)),))
        yield Stroke("dot", (_dot(label.x, label.y),), True)
    centered = kind in ("house", "length", "water")
    x = box.x + box.width / 2 if centered else box.x
    for number, text in enumerate(label.lines):
        look = "t halo s" if number or label.small else "t halo b"
        y = box.y + label.face.line * (number + 0.75)
        yield Words(_look(look, kind, text), x, y, text, centered)


def _look(look: str, kind: str, text: str) -> str:
    if kind == "zone" and text.endswith("lapsed"):
        return "t halo refuse"
    return look


def _dot(x: float, y: float) -> Ring:
    return ((x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2))


def _triangle(label: Label, number: str, box: Box) -> Iterator[Stroke | Words]:
    x, y = box.x + box.width / 2, box.y
    yield Stroke("l-lead", ((box.edge_toward(label.x, label.y), (label.x, label.y)),))
    half, foot = label.face.line * 0.69, label.face.line
    yield Stroke("mk", (((x, y - 1), (x + half, y + foot), (x - half, y + foot)),), True)
    yield Words("t s", x, y + foot * 0.88, number, True)


def _scale(plan: Plan, scene: Scene) -> Iterator[Stroke | Words]:
    """A bar of two equal parts, at most a third of the sheet long."""
    whole, px = scene.bar(plan.unit)
    y = scene.height - 16
    for part, kind in enumerate(("sc-a", "sc-b")):
        x = 12 + part * px / 2
        ring = ((x, y), (x + px / 2, y), (x + px / 2, y + 5), (x, y + 5))
        yield Stroke(kind, (ring,), True)
    yield Words("t s", 12, y - 4, "0")
    # beside the end of the bar, so that a short one keeps its words apart
    yield Words("t s", 12 + px, y - 4, f"{group(whole)} {unit_word(plan.unit)}")


def _north(scene: Scene) -> Iterator[Stroke | Words]:
    x, y = scene.width - 24, scene.height - 8
    yield Stroke("dot", (((x, y - 26), (x + 6, y - 10), (x, y - 14), (x - 6, y - 10)),), True)
    yield Words("t s b", x, y, "N", True)
