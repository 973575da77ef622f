"""What is in the house already, as far as a firm's spreadsheet can name it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class KnownBranch:
    """A shop and its state."""

    pk: int
    name: str
    state: str


@dataclass(frozen=True)
class KnownCustomer:
    """A customer of a branch."""

    pk: int
    branch_id: int
    name: str
    kind: str
    billing_address: str
    status: str


@dataclass(frozen=True)
class KnownContact:
    """A person at a customer's."""

    pk: int
    customer_id: int
    name: str
    role: str
    phone: str
    email: str
    wants_notices: bool


@dataclass(frozen=True)
class KnownProperty:
    """A service address of a customer."""

    pk: int
    branch_id: int
    customer_id: int
    address_key: str
    street: str
    city: str
    county: str
    state: str
    zip_code: str
    latitude: Decimal | None
    longitude: Decimal | None
    structure: str


@dataclass(frozen=True)
class KnownZone:
    """A zone with its lengths in whole millimeters."""

    pk: int
    property_id: int
    name: str
    place: str
    geometry: str
    corners: str
    wall_run_mm: int
    height_up_mm: int
    width_out_mm: int
    surface: str
    exposure: str
    is_rain_protected: bool
    is_over_impervious: bool


@dataclass(frozen=True)
class KnownHistory:
    """A last treatment taken over from a spreadsheet before."""

    zone_id: int
    applied_on: date
    product: str
    applicator: str
    residual_days: int | None


@dataclass(frozen=True)
class Known:
    """Everything an import compares with."""

    customers: Sequence[KnownCustomer] = ()
    contacts: Sequence[KnownContact] = ()
    properties: Sequence[KnownProperty] = ()
    zones: Sequence[KnownZone] = ()
    history: Sequence[KnownHistory] = ()
