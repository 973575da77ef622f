"""A technician books what they load: own branch, own vehicle, what is there; nothing else."""

from __future__ import annotations

from typing import Any

import pytest

from accounts.models import Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import client_for, make_branch, make_person
from tests.treatments.conftest import NOW
from tests.treatments.label_entries import refused_by
from tests.treatments.stock_cases import FL_OZ, Shelf, shelf
from treatments.models import ProductLot, StockMove
from treatments.services.stock import adjust, dispose, transfer
from treatments.services.stock_places import add_place
from treatments.services.taking import take_aboard
from treatments.services.withdrawals import withdraw_label

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def taking(shelf: Shelf, lot: ProductLot, **changes: Any) -> StockMove:
    return take_aboard(
        **{
            "lot_id": lot.pk, "store_id": shelf.store.pk, "amount": "8", "unit": "fl_oz",
            "by": shelf.house.technician, "now": NOW,
        } | changes
    )  # fmt: skip


def test_what_is_loaded_goes_from_the_store_to_the_own_vehicle(shelf: Shelf) -> None:
    lot = shelf.receive()
    move = taking(shelf, lot)
    assert (move.kind, move.from_place, move.to_place) == ("transfer", shelf.store, shelf.truck)
    assert move.created_by == shelf.house.technician
    assert shelf.left(lot, shelf.truck) == round(8 * FL_OZ)
    assert taking(shelf, lot, amount="56").ul == round(56 * FL_OZ)  # the last of 64 fl oz
    assert shelf.left(lot, shelf.store) == 0


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"amount": "64.001"}, "amount"),  # below zero
        ({"amount": "-8"}, "amount"),
        ({"amount": "0"}, "amount"),
        ({"amount": "much"}, "amount"),
        ({"unit": "lb"}, "unit"),
    ],
)
def test_an_amount_that_cannot_be_is_refused(
    shelf: Shelf, fields: dict[str, str], field: str
) -> None:
    lot = shelf.receive()
    assert refused_by(taking, shelf, lot, **fields).facts["field"] == field
    assert StockMove.objects.count() == 1


def test_only_a_store_of_the_own_branch_gives(shelf: Shelf, manager: Person) -> None:
    lot = shelf.receive()
    other = make_branch("Branch of others")
    far = add_place(branch_id=other.pk, kind="store", name="Far store", by=None)
    there = shelf.receive("L-9", place_id=far.pk, by=None)
    drum = add_place(branch_id=shelf.store.branch_id, kind="rinsate", name="Drum", by=manager)
    colleague = make_person([Role.TECHNICIAN], shelf.house.technician.branch, "Uma Colleague")
    truck = add_place(
        branch_id=shelf.store.branch_id, kind="vehicle", name="Truck 5", by=manager,
        technician_id=colleague.pk,
    )  # fmt: skip
    for place in (far, drum, truck, shelf.truck):
        assert refused_by(taking, shelf, lot, store_id=place.pk).facts["field"] == "lot"
    for place in (far, shelf.store):
        assert refused_by(taking, shelf, there, store_id=place.pk).facts["field"] == "lot"
    # nobody names the vehicle: it is always the own one
    assert taking(shelf, lot, by=colleague).to_place == truck
    nobody = make_person([Role.TECHNICIAN], shelf.house.technician.branch, "Vic Walker")
    assert "No vehicle is kept" in refused_by(taking, shelf, lot, by=nobody).sentence


def test_a_technician_neither_receives_counts_disposes_nor_transfers(shelf: Shelf) -> None:
    lot, by = shelf.receive(), shelf.house.technician
    amount = {"lot_id": lot.pk, "unit": "fl_oz", "by": by, "now": NOW}
    for act in (
        lambda: shelf.receive("L-2", by=by),
        lambda: adjust(place_id=shelf.store.pk, counted="1", reason="x", **amount),
        lambda: dispose(place_id=shelf.store.pk, amount="1", how="x", where="y", **amount),
        lambda: transfer(
            from_place_id=shelf.truck.pk, to_place_id=shelf.store.pk, amount="1", **amount
        ),
    ):
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.code == "not_permitted"
    assert StockMove.objects.count() == 1


def test_a_lot_of_a_withdrawn_label_stays_in_the_store(shelf: Shelf, manager: Person) -> None:
    lot = shelf.receive()
    version = shelf.house.use.label_version
    withdraw_label(
        label_version_id=version.pk, last_day=NOW.date().replace(day=1), reason="Recalled.",
        by=manager, now=NOW,
    )  # fmt: skip
    assert "Recalled" in refused_by(taking, shelf, lot).sentence


def test_the_page_offers_the_store_and_keeps_what_was_typed(shelf: Shelf) -> None:
    lot = shelf.receive()
    client, key = client_for(shelf.house.technician), f"{lot.pk}-{shelf.store.pk}"
    html = client.get("/stock/take/").content.decode()
    assert f'value="{key}"' in html and "64.00 fl oz in Main store" in html
    answer = client.post("/stock/take/", {"lot": key, "amount": "65", "unit": "fl_oz"})
    html = answer.content.decode()
    assert answer.status_code == 422 and 'value="65"' in html and "ask a manager" in html
    forged = {"lot": f"{lot.pk}-{shelf.truck.pk}", "amount": "1", "unit": "fl_oz"}
    assert client.post("/stock/take/", forged).status_code == 422
    answer = client.post("/stock/take/", {"lot": key, "amount": "4", "unit": "fl_oz"})
    assert answer.url == f"/stock/vehicles/{shelf.truck.pk}/"
    assert "Take a lot aboard" in client.get(answer.url).content.decode()
    assert client_for(shelf.manager).get("/stock/take/").status_code == 403
