"""A technician's visits as a calendar that other programs read (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from icalendar import Calendar, Event

PRODUCT = "-//Eaveline//Visits//EN"


@dataclass(frozen=True)
class FeedEvent:
    """One visit: street and time only; a feed lies in programs of others.

    Moments carry their zone and are written in UTC, which needs no table of zones.
    """

    uid: str
    starts_at: datetime
    ends_at: datetime
    street: str
    is_canceled: bool
    changed_at: datetime


def draw_feed(name: str, events: Iterable[FeedEvent]) -> bytes:
    """The calendar as bytes, lines folded at 75 octets and ended by CR LF (RFC 5545, 3.1)."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    for one in events:
        calendar.add_component(_event(one))
    return bytes(calendar.to_ical())


def _event(one: FeedEvent) -> Event:
    event = Event()
    event.add("uid", one.uid)
    event.add("dtstamp", one.changed_at.astimezone(UTC))
    event.add("dtstart", one.starts_at.astimezone(UTC))
    event.add("dtend", one.ends_at.astimezone(UTC))
    event.add("summary", one.street)
    event.add("location", one.street)
    event.add("status", "CANCELLED" if one.is_canceled else "CONFIRMED")
    event.add("class", "PRIVATE")
    return event
