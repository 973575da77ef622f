"""The visits of a technician as their calendar feed shows them."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from django.conf import settings

from scheduling.models import Visit
from scheduling.reports.calendar_feed import FeedEvent
from scheduling.rules.visit_states import VisitState

if TYPE_CHECKING:
    from accounts.models import Person

# house rules: two weeks back, half a year ahead, no more than a calendar bears
BACK, AHEAD, MOST = timedelta(days=14), timedelta(days=183), 3000


def feed_events(technician: Person, now: datetime) -> list[FeedEvent]:
    """The visits of somebody around now, canceled ones marked; one query.

    The planned work where it is set, else the promised hours.
    """
    rows = Visit.objects.filter(
        technician=technician, day__range=((now - BACK).date(), (now + AHEAD).date())
    )
    rows = rows.select_related("property").order_by("window_opens_at", "pk")
    return [_event(one, now) for one in rows[:MOST]]


def _event(visit: Visit, now: datetime) -> FeedEvent:
    is_planned = visit.starts_at is not None and visit.ends_at is not None
    starts = visit.starts_at if is_planned else visit.window_opens_at
    ends = visit.ends_at if is_planned else visit.window_closes_at
    return FeedEvent(
        uid=f"{visit.ref}@{settings.HOST}",
        starts_at=starts or visit.window_opens_at,
        ends_at=ends or visit.window_closes_at,
        street=visit.property.street,
        is_canceled=visit.state == VisitState.CANCELED,
        changed_at=now,
    )
