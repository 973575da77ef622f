"""Which zones are booked again: for what a label allows in a year."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from scheduling.models import Visit
from scheduling.rules.visit_states import VisitKind

TREATING = (VisitKind.FIRST_SERVICE, VisitKind.RENEWAL, VisitKind.CALL_BACK)


def booked_zones(
    zone_ids: Collection[int], today: date, *, but_visit: int
) -> tuple[tuple[int, date], ...]:
    """Zone and day of every open visit that may treat these zones, from `today` on.

    A visit of a renewal treats the zones of it; a first service or re-service without one may
    treat any zone of its property, so it is counted for all that are asked for: the rules only
    warn of it. The visit that asks is left out. One query.
    """
    rows = Visit.objects.open().filter(day__gte=today, property__zones__in=zone_ids)
    rows = rows.exclude(pk=but_visit).exclude(renewal=None, kind__in=_not_treating())
    found = rows.values_list("pk", "day", "property__zones", "renewal", "renewal__zones__zone")
    return tuple(
        sorted(
            (zone_id, day)
            for _, day, zone_id, renewal, due in set(found)
            if renewal is None or due == zone_id
        )
    )


def _not_treating() -> list[VisitKind]:
    return [kind for kind in VisitKind if kind not in TREATING]
