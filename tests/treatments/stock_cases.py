"""A store and a truck with one lot of the house's product."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest

from accounts.models import Person
from tests.treatments.conftest import NOW, House
from treatments.models import ProductLot, StockPlace
from treatments.selectors.stock import on_hand
from treatments.services.stock import receive_lot, transfer
from treatments.services.stock_places import add_place

FL_OZ = 29_573.5295625  # uL, NIST Handbook 44, Appendix C


@dataclass(frozen=True)
class Shelf:
    """The store, the truck of the house's technician, and who keeps them."""

    store: StockPlace
    truck: StockPlace
    house: House
    manager: Person

    def receive(self, number: str = "L-1", **changes: Any) -> ProductLot:
        """Two bottles of 32 fl oz into the store on Nov 1."""
        return receive_lot(
            **{
                "place_id": self.store.pk,
                "label_version_id": self.house.use.label_version_id,
                "lot_number": number,
                "container_size": "32",
                "container_unit": "fl_oz",
                "containers": 2,
                "received_on": date(2026, 11, 1),
                "dealer": "Demonstration Supply",
                "by": self.manager,
                "now": NOW,
            }
            | changes
        )

    def load(self, lot: ProductLot, amount: str, unit: str = "fl_oz") -> None:
        """From the store onto the truck."""
        transfer(
            lot_id=lot.pk,
            from_place_id=self.store.pk,
            to_place_id=self.truck.pk,
            amount=amount,
            unit=unit,
            by=self.manager,
            now=NOW,
        )

    def left(self, lot: ProductLot, place: StockPlace) -> int:
        """Microliters of a lot at a place."""
        return on_hand([lot.pk]).get((lot.pk, place.pk), 0)


@pytest.fixture
def shelf(house: House, manager: Person) -> Shelf:
    """Such a shelf, empty."""
    branch = house.place.branch_id
    store = add_place(branch_id=branch, kind="store", name="Main store", by=manager)
    truck = add_place(
        branch_id=branch,
        kind="vehicle",
        name="Truck 4",
        plate="demo 44",
        technician_id=house.technician.pk,
        by=manager,
    )
    return Shelf(store, truck, house, manager)
