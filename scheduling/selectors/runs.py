"""The wall runs of the zones that are about to be recorded."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sites.selectors.runs import runs_by_zone
from treatments.rules.applications import TreatedZone


def run_rows(zone_ids: Collection[int]) -> list[tuple[int, str]]:
    """Key and words of each run, by zone: Foundation band: north wall, 40 ft. One query."""
    return [
        (run.pk, f"{run.zone.name}: {run.name}, {run.length} {run.zone.length_unit}")
        for runs in runs_by_zone(zone_ids).values()
        for run in runs
    ]


def zones_treated(
    zone_ids: Collection[int], left_out: Mapping[int, str]
) -> tuple[TreatedZone, ...]:
    """The zones, each with the runs left out and why; a query only where there are any."""
    if not left_out:
        return tuple(TreatedZone(zone_id) for zone_id in zone_ids)
    runs = runs_by_zone(zone_ids)
    said = {
        pk: tuple((run.pk, left_out[run.pk]) for run in runs[pk] if run.pk in left_out)
        for pk in zone_ids
    }
    return tuple(TreatedZone(pk, left_out=some) for pk, some in said.items())
