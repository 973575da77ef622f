"""The wall runs of the zones that are about to be recorded."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from sites.selectors.runs import runs_by_zone
from treatments.rules.applications import Entered, TreatedZone


def run_rows(zone_ids: Collection[int]) -> list[tuple[int, str]]:
    """Key and words of each run, by zone: Foundation band: north wall, 40 ft. One query."""
    return [
        (run.pk, f"{run.zone.name}: {run.name}, {run.length} {run.zone.length_unit}")
        for runs in runs_by_zone(zone_ids).values()
        for run in runs
    ]


def zones_treated(
    zone_ids: Collection[int],
    left_out: Mapping[int, str],
    parts: Mapping[int, tuple[str, str, str]],
) -> tuple[TreatedZone, ...]:
    """The zones, each with the runs left out and why; a query only where there are any.

    `parts` are size, unit and why not the rest, of zones treated in part.
    """
    if not left_out:
        return tuple(_in_part(zone_id, parts) for zone_id in zone_ids)
    runs = runs_by_zone(zone_ids)
    said = {
        pk: tuple((run.pk, left_out[run.pk]) for run in runs[pk] if run.pk in left_out)
        for pk in zone_ids
    }
    return tuple(replace(_in_part(pk, parts), left_out=some) for pk, some in said.items())


def _in_part(zone_id: int, parts: Mapping[int, tuple[str, str, str]]) -> TreatedZone:
    if zone_id not in parts:
        return TreatedZone(zone_id)
    size, unit, reason = parts[zone_id]
    return TreatedZone(zone_id, Entered(size, unit), rest=reason)
