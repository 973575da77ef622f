"""What the booking page starts from: the place, why somebody must come, and what fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from django.http import Http404

from scheduling.rules.day_words import hours, local, week_day
from scheduling.selectors.renewal_pages import renewal_for, row_of
from scheduling.selectors.renewal_words import RenewalRow
from sites.selectors.properties import cautions_of, preferences_of, property_for

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property

# House rules: what a booking proposes until somebody says otherwise.
MINUTES = 45
OPENS, CLOSES = time(9), time(11)


@dataclass(frozen=True)
class BookingFor:
    """The place, the renewal's row if there is one, and what the form proposes."""

    place: Property
    row: RenewalRow | None
    target: dict[str, Any]
    proposed: dict[str, Any]
    cautions: tuple[Any, ...]
    preferences: tuple[Any, ...]


def booking_for_renewal(person: Person, pk: int, now: datetime) -> BookingFor:
    """Start from a renewal the person may see: the last day of good time is proposed."""
    renewal = renewal_for(person, pk)
    place = renewal.property
    day = max(renewal.due_on, renewal.opens_on, first_day(now, place.branch.time_zone))
    row = row_of(renewal, local(now, place.branch.time_zone).date())
    return _booking(place, row, {"renewal_id": renewal.pk}, day)


def booking_for_property(person: Person, pk: int, now: datetime) -> BookingFor:
    """Start from a property the person may see, closed customers excepted."""
    place = property_for(person, pk)
    if place.customer.status != "active":
        raise Http404("The account of this property is closed.")
    return _booking(place, None, {"property_id": place.pk}, first_day(now, place.branch.time_zone))


def first_day(now: datetime, time_zone: str) -> date:
    """The first day whose proposed arrival window is not over yet, in the branch's time."""
    here = local(now, time_zone)
    return here.date() + timedelta(days=here.time() >= CLOSES)


def ready_places(facts: Mapping[str, object]) -> list[tuple[str, dict[str, str]]]:
    """The next free places of a refusal: in words, and as the fields a booking needs."""
    choices: Any = facts.get("choices") or ()
    return [
        (
            f"{week_day(one.day)}, {hours(one.opens, one.closes)}",
            {
                "day": one.day.isoformat(),
                "window_opens": f"{one.opens:%H:%M}",
                "window_closes": f"{one.closes:%H:%M}",
            },
        )
        for one in choices
    ]


def _booking(
    place: Property, row: RenewalRow | None, target: dict[str, Any], day: date
) -> BookingFor:
    return BookingFor(
        place=place,
        row=row,
        target=target,
        proposed={
            "day": day,
            "window_opens": f"{OPENS:%H:%M}",
            "window_closes": f"{CLOSES:%H:%M}",
            "minutes": MINUTES,
        },
        cautions=tuple(cautions_of(place.pk)),
        preferences=tuple(preferences_of(place.pk)),
    )
