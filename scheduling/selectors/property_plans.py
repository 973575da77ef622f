"""The property plan with what is left of each zone and what was found: for pages and paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.utils.safestring import SafeString

from scheduling.rules.day_words import left_short
from scheduling.rules.renewals import days_left
from scheduling.selectors.renewal_words import zone_size
from sites.reports.plan_drawing import Plan
from sites.rules.places import Corners, Geometry
from sites.rules.plan_outline import Outline
from sites.rules.plan_parts import (
    Held,
    PlanFinding,
    PlanZone,
    positions_of,
    spot_on_wall,
    walls_of_zone,
)
from sites.selectors.inspections import findings_to_place
from sites.selectors.outlines import outline_from, walls_of, waters_of
from sites.selectors.plan_drawings import drawn_plan, outline_notes, planned_water
from sites.selectors.properties import zones_of
from sites.selectors.runs import runs_by_zone
from treatments.selectors.windows import protection_of

if TYPE_CHECKING:
    from sites.models import (
        Finding,
        OutlineWall,
        Property,
        TreatableZone,
        WaterFeature,
    )
    from treatments.models import ZoneProtection


@dataclass(frozen=True)
class ZoneOnPlan:
    """A zone as a row beside the drawing; `along` is where it is drawn, if it is."""

    zone: PlanZone
    along: str


@dataclass(frozen=True)
class FindingOnPlan:
    """A finding as a row beside the drawing."""

    number: int
    finding: Finding
    wall: str


@dataclass(frozen=True)
class PlanSheet:
    """What is drawn, in three forms when a page asks for one, and the same as rows."""

    plan: Plan
    walls: Sequence[OutlineWall]
    zones: tuple[ZoneOnPlan, ...]
    findings: tuple[FindingOnPlan, ...]
    waters: Sequence[WaterFeature]
    notes: tuple[str, ...]

    @property
    def wide(self) -> SafeString:
        return drawn_plan(self.plan, "wide", "plan-wide")

    @property
    def narrow(self) -> SafeString:
        return drawn_plan(self.plan, "narrow", "plan-narrow")

    @property
    def hand(self) -> SafeString:
        return drawn_plan(self.plan, "hand", "plan-hand")


def property_plan(
    place: Property,
    zones: Sequence[TreatableZone],
    kept: Mapping[int, Sequence[ZoneProtection]],
    today: date,
) -> PlanSheet | None:
    """The plan of a property the caller has authorized; none without a sheet of walls.

    `kept` is the protection of each zone, the one that counts first. At most four queries.
    """
    walls = walls_of(place.pk)
    if not walls:
        return None
    return _sheet(place, walls, zones, kept, findings_to_place(place.pk), today)


def plan_on_paper(place: Property, findings: Sequence[Finding], today: date) -> Plan | None:
    """The plan for a report that numbers these findings from 1; none without a sheet of walls."""
    walls = walls_of(place.pk)
    if not walls:
        return None
    zones = list(zones_of(place.pk))
    kept = protection_of({zone.pk for zone in zones})
    return _sheet(place, walls, zones, kept, findings, today).plan


def _sheet(
    place: Property,
    walls: Sequence[OutlineWall],
    zones: Sequence[TreatableZone],
    kept: Mapping[int, Sequence[ZoneProtection]],
    findings: Sequence[Finding],
    today: date,
) -> PlanSheet:
    outline, unit = outline_from(walls), walls[0].length_unit
    waters = waters_of(place.pk)
    drawn_zones = _zones(zones, kept, outline, today)
    rows = tuple(_finding(number, one, outline) for number, one in enumerate(findings, 1))
    plan = Plan(
        outline=outline,
        zones=drawn_zones,
        findings=tuple(_placed(rows, outline)),
        waters=planned_water(waters),
        unit=unit,
        title=f"Plan of {place.street} to scale, north up",
    )
    return PlanSheet(
        plan=plan,
        walls=walls,
        zones=tuple(ZoneOnPlan(zone, _along(zone, outline)) for zone in drawn_zones),
        findings=rows,
        waters=waters,
        notes=tuple(outline_notes(outline, unit, waters)),
    )


def _zones(
    zones: Sequence[TreatableZone],
    kept: Mapping[int, Sequence[ZoneProtection]],
    outline: Outline,
    today: date,
) -> tuple[PlanZone, ...]:
    runs = runs_by_zone([zone.pk for zone in zones])
    found = []
    for number, zone in enumerate(zones, 1):
        left, held = _left(kept.get(zone.pk, ()), today)
        names = [run.name for run in runs[zone.pk]]
        geometry = Geometry(zone.geometry)
        found.append(
            PlanZone(
                key=f"Z{number}",
                name=zone.name,
                walls=walls_of_zone(names, zone.wall_run_mm, geometry, outline),
                geometry=geometry,
                out_mm=zone.width_out_mm,
                up_mm=zone.height_up_mm,
                corners=Corners(zone.corners),
                size=zone_size(zone),
                left=left,
                held=held,
            )
        )
    return tuple(found)


def _left(kept: Sequence[ZoneProtection], today: date) -> tuple[str, Held]:
    held = next((one.window for one in kept if one.counts), None)
    if held is None:
        return "no treatment known", Held.NONE
    days = days_left(held.expires_on, today)
    return left_short(days), Held.LAPSED if days < 0 else Held.HELD


def _along(zone: PlanZone, outline: Outline) -> str:
    positions = positions_of(zone, outline)
    if len(positions) == len(outline.walls):
        return "all walls"
    return ", ".join(outline.walls[one].name for one in positions) or "not on the plan"


def _finding(number: int, one: Finding, outline: Outline) -> FindingOnPlan:
    spot = spot_on_wall(one.spot, outline)
    return FindingOnPlan(number, one, spot[0] if spot else "not on the plan")


def _placed(rows: Iterable[FindingOnPlan], outline: Outline) -> Iterable[PlanFinding]:
    for row in rows:
        spot = spot_on_wall(row.finding.spot, outline)
        if spot is not None:
            kind = row.finding.get_kind_display()
            yield PlanFinding(kind, row.number, *spot, str(row.finding))
