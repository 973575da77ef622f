"""The rows an import makes or changes; what a cell leaves empty changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from scheduling.rules.accounts_known import (
    KnownContact,
    KnownCustomer,
    KnownHistory,
    KnownProperty,
    KnownZone,
)
from scheduling.rules.spreadsheet import AccountRow
from sites.rules.places import Geometry
from sites.rules.units import canonical

DEGREE_STEP = Decimal("0.000001")  # as coordinates are stored: 11 cm
Difference = tuple[str, object, object]


def folded(text: str) -> str:
    """A text for comparing: without case and with single spaces."""
    return " ".join(text.casefold().split())


def degrees(value: Decimal | None) -> Decimal | None:
    """Coordinates as they are stored."""
    return None if value is None else value.quantize(DEGREE_STEP)


def _differ(*cells: Difference) -> Iterator[Difference]:
    """The cells that say something else than what is stored; (column, stored, said)."""
    for column, stored, said in cells:
        if said not in ("", None) and said != stored:
            yield column, stored, said


@dataclass(frozen=True)
class CustomerRow:
    """A customer; `branch` is a key, 0 for the branch that the import makes."""

    branch: int
    row: AccountRow
    known: KnownCustomer | None

    def differences(self) -> Iterator[Difference]:
        if self.known is not None:
            yield from _differ(
                ("customer_kind", self.known.kind, str(self.row.customer_kind)),
                ("billing_address", self.known.billing_address, self.row.billing_address),
            )

    def words(self) -> str:
        return f"customer {self.row.customer_name}"


@dataclass(frozen=True)
class ContactRow:
    """A person at the customer with this position; unnamed ones carry the customer's name."""

    customer: int
    row: AccountRow
    known: KnownContact | None

    @property
    def name(self) -> str:
        return self.row.contact_name or self.row.customer_name[:120]

    def differences(self) -> Iterator[Difference]:
        if self.known is not None:
            yield from _differ(
                ("phone", self.known.phone, self.row.phone),
                ("email", self.known.email, self.row.email),
            )

    def words(self) -> str:
        return f"contact {self.name}"


@dataclass(frozen=True)
class PropertyRow:
    """A service address of the customer with this position."""

    customer: int
    branch: int
    row: AccountRow
    known: KnownProperty | None

    def differences(self) -> Iterator[Difference]:
        if self.known is not None:
            yield from _differ(
                ("service_county", self.known.county, self.row.service_county),
                ("latitude", self.known.latitude, degrees(self.row.latitude)),
                ("longitude", self.known.longitude, degrees(self.row.longitude)),
            )

    def words(self) -> str:
        row = self.row
        return f"property {row.service_street}, {row.service_city} of {row.customer_name}"


@dataclass(frozen=True)
class ZoneRow:
    """A zone of the property with this position, and its last treatment."""

    place_of: int
    row: AccountRow
    known: KnownZone | None
    history: KnownHistory | None

    def differences(self) -> Iterator[Difference]:
        if self.known is not None:
            row, known = self.row, self.known
            yield from _differ(
                ("zone_place", known.place, str(row.zone_place)),
                ("surface", known.surface, str(row.surface)),
                ("exposure", known.exposure, str(row.exposure)),
            )
            # Places are counted; the file only knows lengths.
            if known.geometry != Geometry.COUNT:
                yield from self._lengths()

    def _lengths(self) -> Iterator[Difference]:
        assert self.known is not None
        for column, stored, said in (
            ("wall_run_ft", self.known.wall_run_mm, self.row.wall_run_ft),
            ("height_up_ft", self.known.height_up_mm, self.row.height_up_ft),
            ("width_out_ft", self.known.width_out_mm, self.row.width_out_ft),
        ):
            if canonical(said, "ft") != stored:
                yield column, f"{Decimal(stored) / Decimal('304.8'):.2f}", said

    def history_differences(self) -> Iterator[Difference]:
        """What the file says otherwise of a treatment that was taken over before."""
        if self.history is not None:
            yield from _differ(
                ("last_product", self.history.product, self.row.last_product),
                ("last_applicator", self.history.applicator, self.row.last_applicator),
                ("last_residual_days", self.history.residual_days, self.row.last_residual_days),
            )

    @property
    def has_new_history(self) -> bool:
        return self.row.last_applied_on is not None and self.history is None

    def words(self) -> str:
        return f"zone {self.row.zone_name} at {self.row.service_street}"
