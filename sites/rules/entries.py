"""What is typed about properties and zones, before it is a row."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from sites.rules.places import Corners, Exposure, Surface


@dataclass(frozen=True)
class NewProperty:
    """A service address of a customer, cared for by a branch."""

    branch_id: int
    customer_id: int
    street: str
    city: str
    state: str
    zip_code: str
    county: str = ""
    latitude: Decimal | None = None
    longitude: Decimal | None = None
    structure: str = ""
    site_kind: str = ""


@dataclass(frozen=True)
class NewZone:
    """A zone with its lengths as typed, in `length_unit`.

    Without `geometry` it is a band when it has a height or a width, else a length. A count of
    places is typed in `wall_run`; `runs` are named parts of it, one a line: north wall 40.
    """

    property_id: int
    name: str
    place: str
    wall_run: str
    height_up: str = "0"
    width_out: str = "0"
    geometry: str = ""
    corners: str = Corners.SIMPLE
    length_unit: str = "ft"
    surface: str = Surface.PAINTED
    exposure: str = Exposure.SHADED
    is_rain_protected: bool = False
    is_over_impervious: bool = False
    runs: str = ""
