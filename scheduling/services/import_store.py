"""Writing what an import decided, through the services of the floors below."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, TypeVar

from accounts.rules.entries import NewContact, NewCustomer
from accounts.services.customers import add_contacts, edit_contact, edit_customer, open_customers
from scheduling.rules.accounts_checks import zone_of
from scheduling.rules.accounts_plan import ImportPlan
from scheduling.rules.accounts_rows import (
    ContactRow,
    CustomerRow,
    PropertyRow,
    ZoneRow,
    degrees,
)
from sites.rules.entries import NewProperty
from sites.rules.places import Geometry
from sites.services.properties import add_properties, edit_property
from sites.services.zones import add_zones, edit_zone
from treatments.rules.applications import HistoricRow
from treatments.services.history import record_history

if TYPE_CHECKING:
    from accounts.models import Person

Planned = TypeVar("Planned", CustomerRow, ContactRow, PropertyRow, ZoneRow)
DERIVED = ("", Geometry.BAND, Geometry.LINEAR)


@dataclass(frozen=True)
class SourceFile:
    """The file an import reads: name and SHA-256 of its bytes."""

    name: str
    sha256: str


def store_plan(
    plan: ImportPlan, file: SourceFile, new_branch: int, *, by: Person | None, now: datetime
) -> None:
    """Write the whole plan; the caller holds the transaction.

    `new_branch` is the key of the branch made for rows that had none. The history comes last: its
    leaf takes the lock of the log.
    """
    customers = _keys(plan.customers, lambda rows: _open_customers(rows, new_branch, by))
    _keys(plan.contacts, lambda rows: _add_contacts(rows, customers, by))
    places = _keys(plan.properties, lambda rows: _add_properties(rows, customers, new_branch, by))
    zones = _keys(plan.zones, lambda rows: _add_zones(rows, places, by))
    _edit(plan, by)
    _history(plan, zones, file, new_branch, by, now)


def _keys(
    planned: Sequence[Planned], make: Callable[[list[Planned]], Iterable[object]]
) -> list[int]:
    """The key of every planned row in order: the known one, or that of the row now made."""
    new = [one for one in planned if one.known is None]
    made = iter(make(new)) if new else iter(())
    return [one.known.pk if one.known is not None else next(made).pk for one in planned]  # type: ignore[attr-defined]


def _open_customers(
    rows: list[CustomerRow], new_branch: int, by: Person | None
) -> Iterable[object]:
    return open_customers(
        [
            NewCustomer(
                branch_id=one.branch or new_branch,
                name=one.row.customer_name,
                kind=str(one.row.customer_kind),
                billing_address=one.row.billing_address,
            )
            for one in rows
        ],
        by=by,
    )


def _add_contacts(
    rows: list[ContactRow], customers: list[int], by: Person | None
) -> Iterable[object]:
    return add_contacts(
        [
            NewContact(
                customer_id=customers[one.customer],
                name=one.name,
                phone=one.row.phone,
                email=one.row.email,
            )
            for one in rows
        ],
        by=by,
    )


def _add_properties(
    rows: list[PropertyRow], customers: list[int], new_branch: int, by: Person | None
) -> Iterable[object]:
    return add_properties(
        [_new_property(one, customers[one.customer], one.branch or new_branch) for one in rows],
        by=by,
    )


def _new_property(one: PropertyRow, customer_id: int, branch_id: int) -> NewProperty:
    row = one.row
    return NewProperty(
        branch_id=branch_id,
        customer_id=customer_id,
        street=row.service_street,
        city=row.service_city,
        state=row.service_state,
        zip_code=row.service_zip,
        county=row.service_county,
        latitude=degrees(row.latitude),
        longitude=degrees(row.longitude),
    )


def _add_zones(rows: list[ZoneRow], places: list[int], by: Person | None) -> Iterable[object]:
    return add_zones([zone_of(one.row, places[one.place_of]) for one in rows], by=by)


def _edit(plan: ImportPlan, by: Person | None) -> None:
    """Take over the cells that differ; what the file leaves empty stays."""
    for planned in plan.all():
        if planned.known is None or not any(True for _ in planned.differences()):
            continue
        match planned:
            case CustomerRow():
                _edit_customer(planned, by)
            case ContactRow():
                _edit_contact(planned, by)
            case PropertyRow():
                _edit_property(planned, by)
            case ZoneRow():
                _edit_zone(planned, by)


def _edit_customer(one: CustomerRow, by: Person | None) -> None:
    assert one.known is not None
    edit_customer(
        customer_id=one.known.pk,
        name=one.known.name,
        kind=str(one.row.customer_kind),
        billing_address=one.row.billing_address or one.known.billing_address,
        status=one.known.status,
        by=by,
    )


def _edit_contact(one: ContactRow, by: Person | None) -> None:
    assert one.known is not None
    edit_contact(
        contact_id=one.known.pk,
        name=one.known.name,
        role=one.known.role,
        phone=one.row.phone or one.known.phone,
        email=one.row.email or one.known.email,
        wants_notices=one.known.wants_notices,
        by=by,
    )


def _edit_property(one: PropertyRow, by: Person | None) -> None:
    known, row = one.known, one.row
    assert known is not None
    place = NewProperty(
        branch_id=known.branch_id,
        customer_id=known.customer_id,
        street=known.street,
        city=known.city,
        state=known.state,
        zip_code=known.zip_code,
        county=row.service_county or known.county,
        latitude=known.latitude if row.latitude is None else degrees(row.latitude),
        longitude=known.longitude if row.longitude is None else degrees(row.longitude),
        structure=known.structure,
    )
    edit_property(property_id=known.pk, place=place, by=by)


def _edit_zone(one: ZoneRow, by: Person | None) -> None:
    known, row = one.known, one.row
    assert known is not None
    zone = replace(
        zone_of(row, known.property_id, "" if known.geometry in DERIVED else known.geometry),
        name=known.name,
        corners=known.corners,
        is_rain_protected=known.is_rain_protected,
        is_over_impervious=known.is_over_impervious,
    )
    edit_zone(zone_id=known.pk, zone=zone, by=by)


def _history(
    plan: ImportPlan,
    zones: list[int],
    file: SourceFile,
    new_branch: int,
    by: Person | None,
    now: datetime,
) -> None:
    """One batch and leaf a branch: a last treatment belongs to the log of its property's branch."""
    batches: dict[int, list[HistoricRow]] = {}
    for key, one in zip(zones, plan.zones, strict=True):
        place = plan.properties[one.place_of]
        branch = place.known.branch_id if place.known else place.branch or new_branch
        if one.has_new_history:
            batches.setdefault(branch, []).append(_historic(one, key))
    for branch_id, rows in sorted(batches.items()):
        record_history(
            branch_id=branch_id,
            file_name=file.name,
            file_sha256=file.sha256,
            rows=rows,
            by=by,
            now=now,
        )


def _historic(one: ZoneRow, zone_id: int) -> HistoricRow:
    row = one.row
    assert row.last_applied_on is not None
    return HistoricRow(
        zone_id=zone_id,
        product=row.last_product,
        applicator=row.last_applicator,
        applied_on=row.last_applied_on,
        residual_days=row.last_residual_days,
    )
