"""Around an address: which properties lie within a distance, and which cannot be looked at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from scheduling.rules.travel import Point, great_circle_km

KM_A_MILE = 1.609344  # NIST SP 811, B.8: the international mile
MOST_MILES = Decimal(25)  # house rule: further away is another question
Located = tuple[int, Point | None]


@dataclass(frozen=True)
class Around:
    """The properties inside, in the order given, and those without a position."""

    inside: tuple[int, ...]
    unknown: tuple[int, ...]


def around(center: Point, miles: Decimal, places: Iterable[Located]) -> Around:
    """Which places lie within a distance, the edge included."""
    reach = float(miles) * KM_A_MILE
    inside: list[int] = []
    unknown: list[int] = []
    for key, point in places:
        if point is None:
            unknown.append(key)
        elif great_circle_km(center, point) <= reach:
            inside.append(key)
    return Around(tuple(inside), tuple(unknown))


def point_in(text: str) -> Point | None:
    """A position written as "40.0123, -82.9001"; None for anything else, as an address.

    ValueError: two numbers that are no place on the Earth.
    """
    parts = text.split(",")
    if len(parts) != 2:
        return None
    try:
        latitude, longitude = (Decimal(part.strip()) for part in parts)
    except InvalidOperation:
        return None
    if not (latitude.is_finite() and longitude.is_finite()):
        raise ValueError(f"{text} is not a place on the Earth.")
    return Point(float(latitude), float(longitude))
