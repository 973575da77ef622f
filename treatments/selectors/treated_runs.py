"""The wall runs of a record, as they were on the day."""

from __future__ import annotations

from collections.abc import Iterable

from treatments.models import TreatedArea
from treatments.rules.wall_runs import RunTold, why_left_out


def runs_of(area: TreatedArea) -> tuple[RunTold, ...]:
    """The runs of one treated zone, treated and left out, in their order."""
    return tuple(
        RunTold(one.name, one.length, one.unit, one.length_mm, one.reason)
        for one in area.runs.all()
    )


def left_out_of(areas: Iterable[TreatedArea]) -> list[tuple[str, str]]:
    """What was left out of zones that were treated in part, each with why."""
    return [
        (f"{area.zone_name}: {run.name}", why_left_out(run.reason))
        for area in areas
        for run in runs_of(area)
        if not run.is_done
    ]
