"""Reading the named runs of zones."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from sites.models import TreatableZone, WallRun


def runs_by_zone(zone_ids: Collection[int]) -> dict[int, list[WallRun]]:
    """The runs of these zones in their order, with their zones; one query."""
    found: dict[int, list[WallRun]] = defaultdict(list)
    rows = WallRun.objects.filter(zone__in=zone_ids).select_related("zone")
    for row in rows.order_by("zone_id", "position"):
        found[row.zone_id].append(row)
    return found


def runs_typed(zone: TreatableZone) -> str:
    """The runs of a zone as one would type them."""
    return "\n".join(f"{one.name} {one.length}" for one in runs_by_zone([zone.pk])[zone.pk])
