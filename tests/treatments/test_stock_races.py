"""One reference on two lots at the same moment: one move, and a sentence for the other form."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from threading import Barrier, BrokenBarrierError
from typing import Any

import pytest
from django.db import connection

from accounts.refusals import Refused
from tests.treatments.conftest import NOW
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import ProductLot, StockMove
from treatments.services import stock
from treatments.services.stock_replay import Sent, first_move

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _both_ask_before_one_writes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the engine lets two transactions run, both have asked before any of them writes."""
    gate = Barrier(2)

    def slow(sent: Sent) -> StockMove | None:
        found = first_move(sent)
        with suppress(BrokenBarrierError):  # the engine runs one after the other
            gate.wait(timeout=1)
        return found

    monkeypatch.setattr(stock, "first_move", slow)


def at_once(service: Callable[..., Any], forms: list[dict[str, Any]]) -> list[Any]:
    def send(form: dict[str, Any]) -> Any:
        try:
            return service(**form)
        except Refused as refused:
            return refused.code
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(send, forms))


def test_one_reference_on_two_lots_moves_once(shelf: Shelf) -> None:
    lots = [shelf.receive(), shelf.receive(lot_number="B-2")]
    before, ref = StockMove.objects.count(), uuid.uuid4()
    form = {"from_place_id": shelf.store.pk, "to_place_id": shelf.truck.pk, "amount": "8",
            "unit": "fl_oz", "by": shelf.manager, "now": NOW, "client_ref": ref}  # fmt: skip
    answers = at_once(stock.transfer, [form | {"lot_id": lot.pk} for lot in lots])
    assert sum(isinstance(one, StockMove) for one in answers) == 1
    assert [one for one in answers if isinstance(one, str)] == ["reused_reference"]
    assert StockMove.objects.count() == before + 1


def test_one_delivery_sent_twice_at_once_is_one_lot(shelf: Shelf) -> None:
    ref = uuid.uuid4()
    answers = at_once(shelf.receive, [{"client_ref": ref}] * 2)
    assert answers[0] == answers[1]
    assert ProductLot.objects.count() == StockMove.objects.count() == 1
