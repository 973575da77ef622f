"""A form of stock that arrives twice moves once; with other words it is refused."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from accounts.refusals import Refused
from tests.factories import client_for
from tests.treatments.conftest import NOW
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import ProductLot, StockMove
from treatments.services import stock
from treatments.services.taking import take_aboard

__all__ = ["shelf"]
pytestmark = pytest.mark.django_db


def acts(shelf: Shelf, lot: ProductLot) -> dict[str, tuple[Any, dict[str, Any], dict[str, Any]]]:
    """Each act with its words, and with other words of the same reference."""
    of_lot = {"lot_id": lot.pk, "unit": "fl_oz", "by": shelf.manager, "now": NOW}
    there = {"from_place_id": shelf.store.pk, "to_place_id": shelf.truck.pk}
    how = {"how": "Returned", "where": "Dealer", "place_id": shelf.store.pk}
    take = {"lot_id": lot.pk, "store_id": shelf.store.pk, "unit": "fl_oz", "now": NOW}
    return {
        "transfer": (stock.transfer, of_lot | there | {"amount": "8"}, {"amount": "9"}),
        "dispose": (stock.dispose, of_lot | how | {"amount": "8"}, {"where": "Elsewhere"}),
        "count": (
            stock.adjust,
            of_lot | {"place_id": shelf.store.pk, "counted": "60", "reason": "Spilled"},
            {"counted": "59"},
        ),
        "take": (
            take_aboard,
            take | {"amount": "8", "by": shelf.house.technician},
            {"amount": "9"},
        ),
    }


@pytest.mark.parametrize("act", ["transfer", "dispose", "count", "take"])
def test_sent_twice_is_moved_once(shelf: Shelf, act: str) -> None:
    lot = shelf.receive()
    service, words, others = acts(shelf, lot)[act]
    ref = uuid.uuid4()
    first = service(**words, client_ref=ref)
    moves = StockMove.objects.count()
    assert service(**words, client_ref=ref) == first
    with pytest.raises(Refused, match="sent before with other words"):
        service(**words | others, client_ref=ref)
    assert StockMove.objects.count() == moves
    # another form with the same words is another move, except a count that agrees by now
    again = service(**words, client_ref=uuid.uuid4())
    assert (again is None) == (act == "count")


def test_a_reference_names_one_act(shelf: Shelf) -> None:
    lot, ref = shelf.receive(), uuid.uuid4()
    made = acts(shelf, lot)
    service, words, _ = made["transfer"]
    service(**words, client_ref=ref)
    service, words, _ = made["dispose"]
    with pytest.raises(Refused, match="sent before"):
        service(**words, client_ref=ref)


def test_a_delivery_that_arrives_twice_is_one_lot(shelf: Shelf) -> None:
    ref = uuid.uuid4()
    lot = shelf.receive(client_ref=ref)
    assert shelf.receive(client_ref=ref) == lot
    with pytest.raises(Refused, match="sent before"):
        shelf.receive(client_ref=ref, containers=3)
    assert ProductLot.objects.count() == StockMove.objects.count() == 1


def test_the_pages_carry_the_reference(shelf: Shelf) -> None:
    lot, client = shelf.receive(), client_for(shelf.manager)
    url = f"/stock/lots/{lot.pk}/transfer/"
    assert 'type="hidden" name="client_ref"' in client.get(url).content.decode()
    typed = {
        "from_place": shelf.store.pk, "to_place": shelf.truck.pk, "amount": "8", "unit": "fl_oz",
        "client_ref": str(uuid.uuid4()),
    }  # fmt: skip
    for _ in range(2):
        assert client.post(url, typed).status_code == 302
    assert StockMove.objects.filter(kind="transfer").count() == 1
    other = client.post(url, typed | {"amount": "9"})
    assert other.status_code == 422 and "sent before with other words" in other.content.decode()
