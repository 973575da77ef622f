"""What the checks of a property's devices add up to."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from sites.models import DeviceCheck, Property
from sites.rules.devices.trends import Seen
from sites.rules.devices.words import Outcome

MOST_CHECKS = 20_000


def seen_at(
    place: Property, first: date, *, device_id: int | None = None, pest_id: int | None = None
) -> list[Seen]:
    """Every check since a day at the property, the oldest first; two queries.

    With a pest only its counts stand in it, and a device without it is not active; the checks
    stay, so that the share is of all.
    """
    local = ZoneInfo(place.branch.time_zone)
    since = datetime.combine(first, time(), local)
    rows = DeviceCheck.objects.filter(device__property=place, captured_at__gte=since)
    if device_id is not None:
        rows = rows.filter(device_id=device_id)
    rows = rows.select_related("device").prefetch_related("counts")
    newest = rows.order_by("-captured_at", "-pk")[:MOST_CHECKS]
    return [_seen(row, local, pest_id) for row in reversed(newest)]


def _seen(row: DeviceCheck, local: ZoneInfo, pest_id: int | None) -> Seen:
    day = row.captured_at.astimezone(local).date()
    counts = [one for one in row.counts.all() if pest_id in (None, one.pest_id)]
    is_other = pest_id is not None and row.outcome == Outcome.ACTIVITY and not counts
    return Seen(
        device=row.device.number,
        round_key=row.visit_ref or day.isoformat(),
        day=day,
        outcome=Outcome.NO_ACTIVITY if is_other else row.outcome,
        counts={one.name: one.number for one in counts},
        eaten=row.eaten if pest_id is None else None,
    )
