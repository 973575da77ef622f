"""Stock: what a record takes and from where, what is refused, what opens an item."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from accounts.models import OpenItem, Person
from accounts.refusals import Refused
from tests.factories import make_label
from tests.treatments.conftest import NOW, House
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import Product, ProductLot, StockMove
from treatments.rules.applications import Entered
from treatments.selectors.log import verify
from treatments.services.recording import Recorded, record_application
from treatments.services.stock import adjust, dispose, take_back, transfer
from treatments.services.stock_places import add_place, set_reorder_level
from treatments.services.stock_use import take_back_use

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
# 1 US fl oz is 29,573.5295625 uL (NIST Handbook 44, Appendix C): x 64, x 10, x 1.6
ALL, TEN, USED = 1_892_706, 295_735, 47_318


def recorded(house: House, amount: str = "1.6") -> Recorded:
    application = house.application(product_amount=Entered(amount, "fl_oz"))
    return record_application(application=application, by=house.technician, now=NOW)


def test_received_transferred_used(shelf: Shelf) -> None:
    lot = shelf.receive()
    assert shelf.left(lot, shelf.store) == ALL
    shelf.load(lot, "10")
    assert (shelf.left(lot, shelf.store), shelf.left(lot, shelf.truck)) == (ALL - TEN, TEN)
    record = recorded(shelf.house).record
    assert shelf.left(lot, shelf.truck) == TEN - USED
    move = StockMove.objects.get(kind="use")
    assert (move.record_id, move.amount, move.unit) == (record.pk, "1.6", "fl_oz")
    assert OpenItem.objects.count() == 0
    assert verify(record.branch_id).is_whole


def test_the_oldest_lot_is_used_first_and_the_rest_comes_from_the_next(shelf: Shelf) -> None:
    late = shelf.receive("L-2", received_on=date(2026, 11, 10))
    early = shelf.receive("L-1", received_on=date(2026, 10, 1))
    shelf.load(late, "10")
    shelf.load(early, "1")
    recorded(shelf.house)
    assert shelf.left(early, shelf.truck) == 0
    # 1 fl oz is 29,574 uL; 47,318 - 29,574 come from the younger lot
    assert shelf.left(late, shelf.truck) == TEN - (USED - 29_574)
    assert sum(move.quantity for move in StockMove.objects.filter(kind="use")) == USED
    assert OpenItem.objects.count() == 0


def test_below_zero_is_recorded_and_opens_one_item(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "1")
    recorded(shelf.house)
    recorded(shelf.house)
    assert shelf.left(lot, shelf.truck) == 29_574 - 2 * USED
    # beside it only that the second record came sooner than the label allows
    item = OpenItem.objects.get(code="stock_below_zero")
    assert "below zero at Truck 4 (DEMO 44): -0.60 fl oz" in item.sentence
    assert "count the place" in item.sentence


def test_a_lot_with_another_label_is_not_used_for_this_label(shelf: Shelf) -> None:
    product = Product.objects.get(pk=shelf.house.use.label_version.product_id)
    next_label = make_label(product, effective_on=date(2026, 6, 1), label_date=date(2026, 6, 1))
    lot = shelf.receive(label_version_id=next_label.label_version_id)
    shelf.load(lot, "10")
    recorded(shelf.house)
    assert shelf.left(lot, shelf.truck) == TEN
    item = OpenItem.objects.get()
    assert item.code == "use_without_stock"
    assert "no lot of the Demonstration A SC, label of Jan 2026" in item.sentence


def test_without_a_vehicle_nothing_is_taken(house: House) -> None:
    recorded(house)
    assert (StockMove.objects.count(), OpenItem.objects.count()) == (0, 0)


def test_a_replay_takes_nothing_again(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    application = shelf.house.application()
    for _ in range(2):
        record_application(application=application, by=shelf.house.technician, now=NOW)
    assert StockMove.objects.filter(kind="use").count() == 1


def test_a_correction_writes_the_opposite_moves_once(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    record = recorded(shelf.house).record
    again = {"record": record, "reason": "Misread the measure", "by": shelf.manager, "now": NOW}
    (opposite,) = take_back_use(**again)
    assert (opposite.kind, opposite.quantity, opposite.record_id) == ("use", -USED, record.pk)
    assert shelf.left(lot, shelf.truck) == TEN
    assert take_back_use(**again) == []


def test_a_move_is_taken_back_once(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    move = StockMove.objects.get(kind="transfer")
    take_back(move_id=move.pk, reason="Wrong truck", by=shelf.manager, now=NOW)
    assert (shelf.left(lot, shelf.store), shelf.left(lot, shelf.truck)) == (ALL, 0)
    with pytest.raises(Refused, match="taken back already"):
        take_back(move_id=move.pk, reason="Wrong truck", by=shelf.manager, now=NOW)
    with pytest.raises(Refused, match="Say what was wrong"):
        take_back(move_id=move.pk - 1, reason=" ", by=shelf.manager, now=NOW)


def test_a_use_is_taken_back_only_with_its_record(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    recorded(shelf.house)
    move = StockMove.objects.get(kind="use")
    with pytest.raises(Refused, match="Correct the record"):
        take_back(move_id=move.pk, reason="Wrong", by=shelf.manager, now=NOW)


def test_a_count_sets_right_and_opens_the_difference(shelf: Shelf) -> None:
    lot = shelf.receive()
    count = {"lot_id": lot.pk, "place_id": shelf.store.pk, "by": shelf.manager, "now": NOW}
    assert adjust(**count, counted="64", unit="fl_oz", reason="") is None
    with pytest.raises(Refused, match=r"By the moves there is 64\.00 fl oz"):
        adjust(**count, counted="60", unit="fl_oz", reason="")
    adjust(**count, counted="60", unit="fl_oz", reason="A bottle leaked")
    # 60 x 29,573.5295625
    assert shelf.left(lot, shelf.store) == 1_774_412
    item = OpenItem.objects.get()
    assert item.code == "stock_difference"
    assert "counted 4.00 fl oz less than the 64.00 fl oz" in item.sentence
    adjust(**count, counted="0", unit="mL", reason="All gone")
    assert shelf.left(lot, shelf.store) == 0


def test_disposed_of_how_and_where(shelf: Shelf) -> None:
    lot = shelf.receive()
    gone = {"lot_id": lot.pk, "place_id": shelf.store.pk, "by": shelf.manager, "now": NOW}
    dispose(**gone, amount="10", unit="fl_oz", how="Collection day", where="County depot")
    assert shelf.left(lot, shelf.store) == ALL - TEN
    for told, missing in (("", "where"), ("Collection day", "")):
        with pytest.raises(Refused, match="it was disposed of"):
            dispose(**gone, amount="1", unit="fl_oz", how=told, where=missing)


STEPS = st.tuples(
    st.sampled_from(["load", "unload", "dispose", "count", "take_back"]),
    st.integers(min_value=1, max_value=90),
)


def one_step(shelf: Shelf, lot: ProductLot, step: str, amount: int) -> None:
    said = {"lot_id": lot.pk, "by": shelf.manager, "now": NOW, "unit": "fl_oz"}
    places = [shelf.store.pk, shelf.truck.pk]
    if step in ("load", "unload"):
        start, end = places if step == "load" else reversed(places)
        transfer(**said, from_place_id=start, to_place_id=end, amount=str(amount))
    elif step == "dispose":
        dispose(**said, place_id=places[0], amount=str(amount), how="Burned", where="Plant")
    elif step == "count":
        adjust(**said, place_id=places[1], counted=str(amount), reason="Counted")
    else:
        last = StockMove.objects.filter(corrects=None, corrected_by=None).last()
        if last is not None:
            take_back(move_id=last.pk, reason="Wrong", by=shelf.manager, now=NOW)


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEPS, max_size=8))
def test_on_hand_is_the_sum_of_the_moves(shelf: Shelf, steps: list[tuple[str, int]]) -> None:
    with transaction.atomic():
        lot = shelf.receive()
        for step, amount in steps:
            one_step(shelf, lot, step, amount)
        for place in (shelf.store, shelf.truck):
            moves = StockMove.objects.filter(lot=lot)
            came = sum(move.quantity for move in moves if move.to_place_id == place.pk)
            went = sum(move.quantity for move in moves if move.from_place_id == place.pk)
            assert shelf.left(lot, place) == came - went
            flagged = OpenItem.objects.filter(code="stock_below_zero")
            is_flagged = flagged.filter(thing=f"lot:{lot.pk} place:{place.pk}").exists()
            assert is_flagged or came >= went
        transaction.set_rollback(True)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"lot_number": " "}, "The lot number is missing"),
        ({"dealer": ""}, "from which dealer"),
        ({"containers": 0}, "1 to 10,000 containers"),
        ({"containers": 10_001}, "1 to 10,000 containers"),
        ({"container_size": "abc"}, "is not a number"),
        ({"container_size": "1,5"}, "has a comma"),
        ({"container_size": "0"}, "The amount is zero"),
        ({"container_size": "1" * 21}, "too long for an amount"),
        ({"container_unit": "oz_wt"}, r"measures this product by volume \(fl oz\), not in oz"),
        ({"container_unit": "ft2"}, "measures this product by volume"),
        ({"received_on": date(2026, 11, 28)}, "has not come yet"),
        ({"expires_on": date(2026, 10, 1)}, "expired before it was received"),
        ({"place_id": 0}, "There is no such place"),
        ({"label_version_id": 0}, "There is no such label"),
    ],
)
def test_what_cannot_be_received(shelf: Shelf, changes: dict[str, Any], sentence: str) -> None:
    with pytest.raises(Refused, match=sentence):
        shelf.receive(**changes)
    assert ProductLot.objects.count() == 0


def test_a_lot_number_stands_under_one_label(shelf: Shelf) -> None:
    shelf.receive()
    product = Product.objects.get(pk=shelf.house.use.label_version.product_id)
    other = make_label(product, effective_on=date(2026, 6, 1)).label_version_id
    with pytest.raises(Refused, match=r"Lot l-1 was received under the .*label of Jan 2026"):
        shelf.receive("l-1", label_version_id=other)
    shelf.receive("L-1")  # a second delivery under its own label
    assert ProductLot.objects.count() == 2


def test_restricted_use_names_buyer_and_license(shelf: Shelf) -> None:
    Product.objects.update(is_restricted_use=True)
    with pytest.raises(Refused, match="Demonstration A SC is restricted use"):
        shelf.receive(buyer="Morgan Manager")
    lot = shelf.receive(buyer="Morgan Manager", buyer_license="OH-1")
    assert (lot.buyer, lot.buyer_license) == ("Morgan Manager", "OH-1")


def test_transfer_refuses_the_same_place_and_another_branch(
    shelf: Shelf, branch_penn: Any, manager: Person
) -> None:
    lot = shelf.receive()
    away = add_place(branch_id=branch_penn.pk, kind="store", name="Erie store", by=manager)
    move = {"lot_id": lot.pk, "from_place_id": shelf.store.pk, "by": manager, "now": NOW}
    for target, sentence in ((shelf.store.pk, "there already"), (away.pk, "another branch")):
        with pytest.raises(Refused, match=sentence):
            transfer(**move, to_place_id=target, amount="1", unit="fl_oz")
    with pytest.raises(Refused, match="by volume"):
        transfer(**move, to_place_id=shelf.truck.pk, amount="1", unit="lb")


def test_places_refuse_what_cannot_be(shelf: Shelf) -> None:
    new = {"branch_id": shelf.store.branch_id, "by": shelf.manager}
    with pytest.raises(Refused, match="missing or taken"):
        add_place(**new, kind="store", name="main STORE")
    with pytest.raises(Refused, match="has no plate"):
        add_place(**new, kind="store", name="Shed", plate="DEMO 1")
    with pytest.raises(Refused, match="has a vehicle already"):
        technician = shelf.house.technician.pk
        add_place(**new, kind="vehicle", name="Truck 5", technician_id=technician)


def test_who_may(shelf: Shelf, office: Person) -> None:
    with pytest.raises(Refused) as refused:
        shelf.receive(by=office)
    assert refused.value.code == "not_permitted"
    with pytest.raises(Refused):
        set_reorder_level(
            branch_id=shelf.store.branch_id,
            label_version_id=shelf.house.use.label_version_id,
            amount="32",
            unit="fl_oz",
            by=office,
        )


def test_a_move_never_changes(shelf: Shelf) -> None:
    shelf.receive()
    move = StockMove.objects.get()
    for change in (
        lambda: StockMove.objects.update(amount="1"),
        lambda: StockMove.objects.all().delete(),
        lambda: ProductLot.objects.update(expires_on=NOW.date() + timedelta(days=999)),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()
    assert StockMove.objects.get().amount == move.amount == "64"


@pytest.mark.django_db(transaction=True)
def test_two_technicians_and_one_lot(
    shelf: Shelf, make_house: Callable[..., House], other_technician: Person
) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    truck = add_place(
        branch_id=shelf.store.branch_id,
        kind="vehicle",
        name="Truck 5",
        technician_id=other_technician.pk,
        by=shelf.manager,
    )
    transfer(
        lot_id=lot.pk, from_place_id=shelf.store.pk, to_place_id=truck.pk,
        amount="10", unit="fl_oz", by=shelf.manager, now=NOW,
    )  # fmt: skip
    houses = [make_house(street=f"{number} Mill Road") for number in range(8)]

    def use(house: House, person: Person) -> None:
        try:
            application = house.application(applicator_id=person.pk)
            record_application(application=application, by=person, now=NOW)
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(use, houses, [shelf.house.technician, other_technician] * 4))
    assert shelf.left(lot, shelf.truck) == shelf.left(lot, truck) == TEN - 4 * USED
    moves = StockMove.objects.filter(lot=lot, kind="use")
    assert moves.count() == 8
    assert sum(move.quantity for move in moves) == 8 * USED
    assert verify(shelf.store.branch_id).is_whole
