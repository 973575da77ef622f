"""The lists that forms about stock choose from."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from accounts.selectors.people import branches_for, technicians_of
from treatments.models import ProductLot, StockPlace
from treatments.rules.stock import PlaceKind
from treatments.selectors.stock import labels_to_receive, lots_for, on_hand, places_for
from treatments.selectors.stock_rows import REFUSED, stock_rows

if TYPE_CHECKING:
    from accounts.models import Person

Choices = list[tuple[int, str]]


def label_choices() -> Choices:
    """Every label a container may carry."""
    return [(label.pk, str(label)) for label in labels_to_receive()]


def product_choices() -> Choices:
    """Every product once, under the key of its newest label."""
    newest = {label.product_id: label for label in reversed(labels_to_receive())}
    return [(label.pk, label.product.name) for label in reversed(newest.values())]


def known_products() -> Choices:
    """Every product under its own key."""
    named = {label.product_id: label.product.name for label in labels_to_receive()}
    return sorted(named.items(), key=lambda row: row[1])


def place_choices(person: Person) -> Choices:
    """The places of the person's branches with their branch."""
    return [(one.pk, f"{one}, {one.branch.name}") for one in places_for(person)]


def driver_choices(person: Person, place: StockPlace | None = None) -> Choices:
    """The technicians of the person's branches that have no vehicle yet, and the place's own."""
    kept = place.technician_id if place else None
    taken = (one.technician_id for one in places_for(None))
    drivers = [key for key in taken if key is not None and key != kept]
    people = technicians_of(None).filter(branch__in=branches_for(person)).exclude(pk__in=drivers)
    return [(one.pk, f"{one.full_name}, {one.branch.name}") for one in people]


def places_of_lot(lot: ProductLot) -> Choices:
    """Every place of the lot's branch."""
    return [(one.pk, str(one)) for one in StockPlace.objects.filter(branch_id=lot.branch_id)]


def places_with(lot: ProductLot) -> Choices:
    """The places where the lot is or was."""
    here = {place for _, place in on_hand([lot.pk])}
    return [row for row in places_of_lot(lot) if row[0] in here]


def lots_to_take(person: Person, today: date) -> list[tuple[str, str]]:
    """What is usable in the stores of the person's own branch: lot and store, with how much."""
    stores = {
        place.pk: place
        for place in StockPlace.objects.filter(branch_id=person.branch_id, kind=PlaceKind.STORE)
    }
    lots = lots_for(person).filter(branch_id=person.branch_id)
    rows = stock_rows(lots, stores, on_hand(), today)
    return [
        (f"{row.lot.pk}-{row.place.pk}", f"{row.lot.label_version.product}, lot "
         f"{row.lot.lot_number}: {row.amount} in {row.place}")
        for row in rows
        if row.quantity > 0 and row.state != REFUSED
    ]  # fmt: skip


def container_choices(branch_id: int) -> Choices:
    """The rinsate containers of a branch."""
    rows = StockPlace.objects.filter(branch_id=branch_id, kind=PlaceKind.RINSATE)
    return [(one.pk, one.name) for one in rows.order_by("pk")]
