"""The property plan as markup, safe for a page."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.safestring import SafeString, mark_safe

from sites.models import WaterFeature
from sites.reports.plan import plan_svg
from sites.reports.plan_drawing import Form, Plan
from sites.rules.plan_outline import Outline
from sites.rules.plan_parts import PlanWater
from sites.rules.plan_walls import gap_words


def drawn_plan(plan: Plan, form: Form, uid: str) -> SafeString:
    """One form of a plan; nothing without walls."""
    if not plan.outline.walls:
        return SafeString("")
    # the drawing escapes every text it is given
    return mark_safe(plan_svg(plan, form=form, uid=uid))


def drawn_walls(outline: Outline, unit: str, title: str) -> SafeString:
    """Walls alone, as they were typed just now."""
    plan = Plan(outline, (), (), (), unit, title)
    return drawn_plan(plan, "narrow", "look")


def planned_water(waters: Sequence[WaterFeature]) -> tuple[PlanWater, ...]:
    """Water as the plan takes it."""
    return tuple(
        PlanWater(one.name, one.wall, one.along_mm, one.away_mm, one.across_mm, one.deep_mm)
        for one in waters
    )


def outline_notes(outline: Outline, unit: str, waters: Sequence[WaterFeature] = ()) -> list[str]:
    """What is odd about a sheet of walls, in sentences."""
    notes = [gap_words(outline, unit)]
    if outline.crossing:
        one, other = outline.crossing
        notes.append(f"{one} and {other} cross each other. Check their headings.")
    for water in waters:
        if outline.walls and outline.named(water.wall) is None:
            notes.append(f"{water.name} is measured from {water.wall}, which is not on the sheet.")
    return [note for note in notes if note]
