"""How long a drive takes when no routing server is asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, ceil, cos, radians, sin, sqrt

EARTH_RADIUS_KM = 6371.0088  # mean radius (2a+b)/3 of the GRS 80 ellipsoid (IUGG)
DETOUR = 1.3  # house rule: roads are this much longer than the great circle
SPEED_KMH = 48.0  # house rule: 30 mph over a whole drive
UNKNOWN_DRIVE_S = 20 * 60  # house rule: a flat 20 minutes where coordinates are missing


@dataclass(frozen=True)
class Point:
    """A place on the Earth in decimal degrees, north and east positive."""

    latitude: float
    longitude: float

    def __post_init__(self) -> None:
        if not (-90 <= self.latitude <= 90 and -180 <= self.longitude <= 180):
            raise ValueError(f"{self.latitude}, {self.longitude} is not a place on the Earth.")


def great_circle_km(a: Point, b: Point) -> float:
    """Distance over a sphere by the haversine formula, in kilometers."""
    lat_a, lat_b = radians(a.latitude), radians(b.latitude)
    half_lat = (lat_b - lat_a) / 2
    half_lon = radians(b.longitude - a.longitude) / 2
    chord = sin(half_lat) ** 2 + cos(lat_a) * cos(lat_b) * sin(half_lon) ** 2
    return 2 * EARTH_RADIUS_KM * asin(sqrt(min(1.0, chord)))


def drive_seconds(a: Point | None, b: Point | None) -> int:
    """Drive from a to b: great circle x detour / speed, rounded up to a whole minute.

    Planned times are whole minutes, so drives are too. A missing place costs a flat
    `UNKNOWN_DRIVE_S`.
    """
    if a is None or b is None:
        return UNKNOWN_DRIVE_S
    hours = great_circle_km(a, b) * DETOUR / SPEED_KMH
    return ceil(round(hours * 60, 6)) * 60


def travel_matrix(points: Sequence[Point | None]) -> tuple[tuple[int, ...], ...]:
    """Seconds from every place to every other, in the order given; zero on the diagonal."""
    drives: dict[tuple[int, int], int] = {}
    for row, a in enumerate(points):
        for column in range(row + 1, len(points)):
            drives[row, column] = drives[column, row] = drive_seconds(a, points[column])
    size = range(len(points))
    return tuple(tuple(drives.get((row, column), 0) for column in size) for row in size)
