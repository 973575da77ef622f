"""Corners of stock: rinsate, what closes by itself, whose lots are aboard, which day it was."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import OpenItem
from accounts.refusals import Refused
from tests.factories import client_for, make_label
from tests.treatments.conftest import NOW
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import Product, ProductLot, StockPlace
from treatments.selectors.checks import Preview, preview
from treatments.selectors.lots_aboard import lots_aboard
from treatments.selectors.receipts import receipts_page
from treatments.selectors.stock_page import lot_page, stock_page
from treatments.selectors.vehicles import vehicle_page
from treatments.services.recording import record_application
from treatments.services.stock import adjust, dispose, receive_lot, take_back, transfer
from treatments.services.stock_places import add_place, set_reorder_level
from treatments.services.withdrawals import withdraw_label

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY = NOW.date()


@pytest.fixture
def drum(shelf: Shelf) -> StockPlace:
    """A rinsate container of the branch."""
    return add_place(branch_id=shelf.store.branch_id, kind="rinsate", name="Drum", by=shelf.manager)


def move(shelf: Shelf, lot: ProductLot, start: StockPlace, end: StockPlace) -> None:
    transfer(
        lot_id=lot.pk, from_place_id=start.pk, to_place_id=end.pk, amount="4", unit="fl_oz",
        by=shelf.manager, now=NOW,
    )  # fmt: skip


def record(shelf: Shelf) -> Any:
    house = shelf.house
    return record_application(application=house.application(), by=house.technician, now=NOW)


def test_rinsate_goes_in_and_leaves_only_as_waste(shelf: Shelf, drum: StockPlace) -> None:
    lot = shelf.receive()
    move(shelf, lot, shelf.store, drum)
    with pytest.raises(Refused, match="does not go back") as refused:
        move(shelf, lot, drum, shelf.truck)
    assert refused.value.facts["field"] == "from_place"
    dispose(
        lot_id=lot.pk, place_id=drum.pk, amount="4", unit="fl_oz", how="Collection day",
        where="County depot", by=shelf.manager, now=NOW,
    )  # fmt: skip
    assert shelf.left(lot, drum) == 0


def test_rinsate_goes_from_drum_to_drum(shelf: Shelf, drum: StockPlace) -> None:
    bigger = add_place(
        branch_id=shelf.store.branch_id, kind="rinsate", name="Tote", by=shelf.manager
    )
    lot = shelf.receive()
    move(shelf, lot, shelf.store, drum)
    move(shelf, lot, drum, bigger)
    assert (shelf.left(lot, drum), shelf.left(lot, bigger)) == (0, 118_294)  # 4 x 29,573.5


def test_a_delivery_never_goes_into_a_drum(shelf: Shelf, drum: StockPlace) -> None:
    with pytest.raises(Refused, match="rinsate container") as refused:
        shelf.receive(place_id=drum.pk)
    assert refused.value.facts["field"] == "place"
    with pytest.raises(Refused, match="A rinsate container has no plate"):
        add_place(
            branch_id=drum.branch_id, kind="rinsate", name="Pail", plate="DEMO 9", by=shelf.manager
        )


def test_only_what_is_usable_counts_for_the_order(shelf: Shelf, drum: StockPlace) -> None:
    set_reorder_level(
        branch_id=drum.branch_id, label_version_id=shelf.house.use.label_version_id,
        amount="64", unit="fl_oz", by=shelf.manager,
    )  # fmt: skip
    lot = shelf.receive(expires_on=TODAY)
    assert [row.is_short for row in stock_page(shelf.manager, TODAY).reorder] == [False]
    tomorrow = stock_page(shelf.manager, TODAY + timedelta(days=1))
    assert [(row.amount, row.is_short) for row in tomorrow.reorder] == [("0.00 fl oz", True)]
    move(shelf, lot, shelf.store, drum)
    (row,) = stock_page(shelf.manager, TODAY).reorder
    assert (row.amount, row.is_short) == ("60.00 fl oz", True)


def _transferred(shelf: Shelf, lot: ProductLot) -> None:
    shelf.load(lot, "1")


def _counted(shelf: Shelf, lot: ProductLot) -> None:
    adjust(
        lot_id=lot.pk, place_id=shelf.truck.pk, counted="0", unit="fl_oz", reason="Looked again",
        by=shelf.manager, now=NOW,
    )  # fmt: skip


def _taken_back(shelf: Shelf, lot: ProductLot) -> None:
    wrong = dispose(
        lot_id=lot.pk, place_id=shelf.truck.pk, amount="5", unit="fl_oz", how="Burned",
        where="Plant", by=shelf.manager, now=NOW,
    )  # fmt: skip
    shelf.load(lot, "1")
    assert OpenItem.objects.get(code="stock_below_zero").closed_at is None
    take_back(move_id=wrong.pk, reason="Another lot", by=shelf.manager, now=NOW)


@pytest.mark.parametrize("act", [_transferred, _counted, _taken_back])
def test_below_zero_closes_once_it_is_set_right(shelf: Shelf, act: Any) -> None:
    lot = shelf.receive()
    shelf.load(lot, "1")
    record(shelf)
    item = OpenItem.objects.get(code="stock_below_zero")
    act(shelf, lot)
    item.refresh_from_db()
    assert item.closed_at == NOW
    assert "not below zero at Truck 4 (DEMO 44) any more" in item.closed_note


def test_a_move_shows_the_day_at_its_branch(shelf: Shelf) -> None:
    # 9 PM on Nov 25 in Ohio is Nov 26 in UTC
    lot = shelf.receive(now=NOW + timedelta(hours=6))
    (row,) = lot_page(shelf.manager, lot.pk, TODAY).moves
    assert row.on == "Nov 25, 2026"


def asked(shelf: Shelf, on: date = TODAY) -> Preview:
    house = shelf.house
    return preview(
        person=house.technician, property_id=house.place.pk, zone_ids=[house.band.pk],
        label_use_id=house.use.pk, method="perimeter_band", pest_ids=[house.pest.pk],
        tank_gal=None, on=on,
    )  # fmt: skip


def of_lots(answer: Preview) -> dict[str, str]:
    return {one.code: one.sentence for one in answer.judgements if one.code.startswith("lot")}


def test_before_mixing_the_lots_aboard_are_judged(shelf: Shelf) -> None:
    assert of_lots(asked(shelf)) == {}
    lot = shelf.receive(expires_on=TODAY)
    # what is in the store is nobody's to mix
    assert of_lots(asked(shelf)) == {}
    shelf.load(lot, "10")
    assert of_lots(asked(shelf)) == {"lot": "Lot L-1 on your truck, in date through Nov 25, 2026"}
    late = asked(shelf, TODAY + timedelta(days=1))
    assert of_lots(late) == {"lot_expired": "Lot L-1 on your truck expired on Nov 25, 2026."}
    assert late.is_allowed


def test_a_lot_with_another_label_warns_and_stays_in_the_record(shelf: Shelf) -> None:
    product = Product.objects.get(pk=shelf.house.use.label_version.product_id)
    newer = make_label(product, effective_on=date(2026, 6, 1), label_date=date(2026, 6, 1))
    shelf.load(shelf.receive(label_version_id=newer.label_version_id), "10")
    assert "lot L-1 (label of Jun 1, 2026)" in of_lots(asked(shelf))["lot_label"]
    stored = record(shelf).judgements
    assert [one.severity for one in stored if one.code == "lot_label"] == ["warn"]


def test_an_empty_lot_is_not_aboard(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "4")
    assert [one.number for one in lots_aboard(shelf.house.technician.pk)] == ["L-1"]
    move(shelf, lot, shelf.truck, shelf.store)
    assert lots_aboard(shelf.house.technician.pk) == ()
    assert lots_aboard(shelf.manager.pk) == ()


def test_receipts_say_who_sold_and_who_bought(shelf: Shelf) -> None:
    Product.objects.update(is_restricted_use=True)
    lot = shelf.receive(invoice="INV-7", buyer="Morgan Manager", buyer_license="OH-C-1")
    move(shelf, lot, shelf.store, shelf.truck)
    text = " ".join(client_for(shelf.manager).get("/stock/receipts/").content.decode().split())
    for words in (
        "L-1", "restricted use", "Nov 1, 2026", "64.00 fl oz", "Demonstration Supply",
        "invoice INV-7", "Morgan Manager", "license OH-C-1",
    ):  # fmt: skip
        assert words in text, words


@pytest.mark.parametrize("page", ["receipts", "vehicle", "preview"])
def test_a_page_reads_as_often_for_three_lots_as_for_thirty(shelf: Shelf, page: str) -> None:
    read = {
        "receipts": lambda: receipts_page(shelf.manager, 1),
        "vehicle": lambda: vehicle_page(shelf.manager, shelf.truck.pk, TODAY),
        "preview": lambda: asked(shelf),
    }[page]

    def queries() -> int:
        with CaptureQueriesContext(connection) as context:
            read()
        return len(context)

    def more(number: int) -> None:
        for _ in range(number):
            lot = shelf.receive(f"L-{ProductLot.objects.count()}")
            shelf.load(lot, "1")

    more(3)
    few = queries()
    more(27)
    assert queries() == few


def test_a_lot_of_a_withdrawn_label_is_kept_and_shown_as_such(shelf: Shelf) -> None:
    """What stands on the shelf is received all the same: nobody hides what they must dispose of."""
    label = shelf.house.use.label_version
    withdraw_label(
        label_version_id=label.pk, last_day=TODAY, reason="Recalled.", by=shelf.manager, now=NOW
    )
    receive_lot(
        place_id=shelf.store.pk, label_version_id=label.pk, lot_number="L-9", container_size="1",
        container_unit="gal", containers=1, received_on=TODAY, dealer="Demonstration Supply",
        by=shelf.manager, now=NOW,
    )  # fmt: skip
    for day, word in (
        (TODAY, "Label until Nov 25, 2026"),
        (TODAY + timedelta(days=1), "Label withdrawn"),
    ):
        (row,) = stock_page(shelf.manager, day).rows
        assert row.word == word


def test_the_list_is_narrowed_by_place_and_product(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    client = client_for(shelf.manager)
    product = shelf.house.use.label_version.product_id

    def found(query: str) -> str:
        return " ".join(client.get(f"/stock/?{query}").content.decode().split())

    assert "<b>1</b> lot on hand" in found("")
    for query, seen, hidden in (
        ("", "54.00", "nothing hidden"),
        (f"place={shelf.truck.pk}", "10.00", "54.00"),
        (f"place={shelf.store.pk}&product={product}", "54.00", "10.00"),
        ("place=what&product=-1", "54.00", "nothing hidden"),
    ):
        page = found(query)
        assert seen in page
        assert hidden not in page
    drum = add_place(branch_id=shelf.store.branch_id, kind="rinsate", name="Drum", by=shelf.manager)
    assert "Nothing of that is on hand" in found(f"place={drum.pk}")
