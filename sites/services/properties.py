"""Writing properties and how one gets in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of, paragraph
from accounts.rules.postal import state_code, zip_line
from accounts.selectors.customers import customer_for, customers_for
from accounts.selectors.people import branch_for, branches_for
from accounts.services.audit import note_event
from sites.models import Property, PropertyAccess
from sites.rules.addresses import address_key
from sites.rules.entries import NewProperty
from sites.rules.places import SiteKind
from sites.selectors.properties import property_for

if TYPE_CHECKING:
    from accounts.models import Person

BATCH = 500
# few enough for one IN list on either engine
KEYS_AT_ONCE = 10_000
ACCESS_LINES = {
    "gate_code": ("Gate code", 40),
    "lock_box": ("Lock box", 40),
    "key_tag": ("Key tag", 40),
    "parking": ("Parking", 200),
    "ask_for": ("Who to ask", 120),
}


def add_properties(rows: Sequence[NewProperty], *, by: Person | None) -> list[Property]:
    """Enter many properties at once, in their order, with one audit event for all.

    Refused as in `add_property`; then none is stored. A branch or customer out of reach is
    Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        _within({row.branch_id for row in rows}, set(branches_for(by).values_list("pk", flat=True)))
        _within_customers(sorted({row.customer_id for row in rows}), by)
        made = [_filled(Property(created_by=by), row) for row in rows]
        with _once("One of these addresses"):
            made = Property.objects.bulk_create(made, batch_size=BATCH)
        note_event(by=by, act="properties_added", thing="properties", count=len(made))
    return made


def add_property(*, place: NewProperty, by: Person | None) -> Property:
    """Enter a service address of a customer.

    Refused: a missing street or municipality, an unknown state, a ZIP code that is none, a
    coordinate off the globe or without the other, an address the customer has already.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        customer_for(by, place.customer_id)
        branch_for(by, place.branch_id)
        made = _saved(_filled(Property(created_by=by), place))
        note_event(by=by, act="property_added", thing=made, customer=made.customer_id)
    return made


def edit_property(*, property_id: int, place: NewProperty, by: Person | None) -> Property:
    """Change a service address; it stays with its customer. Refused as in `add_property`."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        found = property_for(by, property_id)
        branch_for(by, place.branch_id)
        customer_id = found.customer_id
        _filled(found, place).customer_id = customer_id
        _saved(found)
        note_event(by=by, act="property_edited", thing=found)
    return found


def set_access(*, property_id: int, by: Person | None, notes: str = "", **typed: str) -> None:
    """Store how one gets in: gate code, lock box, key tag, parking, who to ask, notes.

    The audit event says that it was changed and never what the codes are. Refused: a text longer
    than its column.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        place = property_for(by, property_id)
        values = {"notes": paragraph(notes, field="notes", label="Notes", most=1000)}
        for column, text in typed.items():
            label, most = ACCESS_LINES[column]
            values[column] = line(text, field=column, label=label, most=most, needed=False)
        PropertyAccess.objects.update_or_create(
            property=place, defaults=values, create_defaults=values | {"created_by": by}
        )
        note_event(by=by, act="access_set", thing=place)


def _filled(place: Property, row: NewProperty) -> Property:
    place.branch_id, place.customer_id = row.branch_id, row.customer_id
    place.street = line(row.street, field="street", label="Street", most=200)
    place.city = line(row.city, field="city", label="Municipality", most=100)
    place.county = line(row.county, field="county", label="County", most=100, needed=False)
    place.state = state_code(row.state)
    place.zip_code = zip_line(row.zip_code)
    place.structure = line(
        row.structure, field="structure", label="Structure", most=200, needed=False
    )
    place.site_kind = _site_kind(row.site_kind)
    place.latitude, place.longitude = _coordinates(row.latitude, row.longitude)
    place.address_key = address_key(place.street, place.city, place.state, place.zip_code)
    return place


def _site_kind(kind: str) -> str:
    return one_of(kind, list(SiteKind), field="site_kind", label="Kind of site") if kind else ""


def _coordinates(
    latitude: Decimal | None, longitude: Decimal | None
) -> tuple[Decimal | None, Decimal | None]:
    for value, most, field in ((latitude, 90, "latitude"), (longitude, 180, "longitude")):
        if value is not None and not (value.is_finite() and abs(value) <= most):
            raise Refused("place", f"The {field} lies between -{most} and {most}.", field=field)
    if (latitude is None) != (longitude is None):
        missing = "latitude" if latitude is None else "longitude"
        raise Refused("place", f"Give the {missing} too, or neither.", field=missing)
    return latitude, longitude


def _saved(place: Property) -> Property:
    with _once(f"{place.street}, {place.city}"):
        place.save()
    return place


@contextmanager
def _once(what: str) -> Iterator[None]:
    """A savepoint that turns a customer's second row of one address into a sentence."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as failure:
        raise Refused(
            "property_exists",
            f"{what} is a property of this customer already, perhaps spelled another way. Open "
            "that one instead.",
            field="street",
        ) from failure


def _within(wanted: Iterable[int], reach: set[int]) -> None:
    if set(wanted) - reach:
        raise Http404


def _within_customers(wanted: Sequence[int], by: Person | None) -> None:
    for start in range(0, len(wanted), KEYS_AT_ONCE):
        part = wanted[start : start + KEYS_AT_ONCE]
        found = customers_for(by).filter(pk__in=part).values_list("pk", flat=True)
        _within(part, set(found))
