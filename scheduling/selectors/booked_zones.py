"""Which zones are booked again: for what a label allows in a year."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from scheduling.models import RenewalZone
from scheduling.models.visits import OPEN_STATES


def booked_zones(
    zone_ids: Collection[int], today: date, *, but_visit: int
) -> tuple[tuple[int, date], ...]:
    """Zone and day of every open visit of a renewal of these zones, from `today` on.

    The visit that asks is left out. One query.
    """
    rows = RenewalZone.objects.filter(
        zone_id__in=zone_ids,
        renewal__visits__state__in=OPEN_STATES,
        renewal__visits__day__gte=today,
    ).values_list("renewal__visits__pk", "zone_id", "renewal__visits__day")
    others = {row for row in rows if row[0] != but_visit}
    return tuple(sorted((zone_id, day) for _, zone_id, day in others))
