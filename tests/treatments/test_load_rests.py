"""The end of a load: what was left is kept, disposed of or nothing, and stock follows once.

1 gal = 3,785,411.784 uL, 1 fl oz = 29,573.5295625 uL (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from accounts.models import OpenItem
from accounts.refusals import Refused
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import mixed, settled, used
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import LoadRest, StockMove
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Leftover
from treatments.selectors.loads import load_for, loads_on_board
from treatments.selectors.lots_aboard import lots_aboard
from treatments.services.loads import settle_load
from treatments.services.stock import dispose
from treatments.services.stock_places import add_place

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_stock_leaves_with_records_and_with_what_is_disposed_of(shelf: Shelf) -> None:
    house = shelf.house
    other, lot = shelf.receive("L-1", received_on=NOW.date() - timedelta(days=40)), shelf.receive()
    for one in (other, lot):
        shelf.load(one, "10")
    assert [one.pk for one in lots_aboard(house.technician.pk)] == [other.pk, lot.pk]
    load = mixed(house, lot_id=lot.pk)
    on_truck = shelf.left(lot, shelf.truck)
    record = used(house, load).record
    rest = settled(house, load, "disposed", "2.4", how="On a labeled site", where="Gravel yard")
    # 4 fl oz - 1.6 fl oz; the older lot was not in this tank
    gone = StockMove.objects.get(kind="dispose")
    assert (gone.ul, gone.disposed_how, gone.disposed_where) == (
        118_294 - 47_318,
        "On a labeled site",
        "Gravel yard",
    )
    assert shelf.left(lot, shelf.truck) == on_truck - 118_294
    assert shelf.left(other, shelf.truck) == 295_735
    assert StockMove.objects.get(kind="use").record == record
    assert (rest.ul, rest.difference_ul, OpenItem.objects.count()) == (9_084_988, 0, 0)


def test_rinsate_leaves_stock_too_and_nothing_takes_nothing(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    load = mixed(shelf.house)
    used(shelf.house, load, "3.8")
    drum = add_place(branch_id=shelf.store.branch_id, kind="rinsate", name="Drum", by=shelf.manager)
    settled(shelf.house, load, "rinsate", "0.2")
    gone = StockMove.objects.get(kind="transfer", to_place=drum)
    # 0.2 gal of 1 fl oz a gallon: 0.2 fl oz
    assert (gone.ul, gone.from_place, gone.disposed_where) == (5_915, shelf.truck, "")
    assert "0.2 gal of spray" in gone.reason
    assert shelf.left(lot, drum) == 5_915
    dispose(
        lot_id=lot.pk, place_id=drum.pk, amount="0.2", unit="fl_oz", how="Collection day",
        where="County depot", by=shelf.manager, now=NOW,
    )  # fmt: skip
    # 0.2 fl oz is 5,914.7 uL
    assert shelf.left(lot, drum) == 0
    empty = mixed(shelf.house)
    used(shelf.house, empty, "3.95")
    settled(shelf.house, empty, "none")
    assert StockMove.objects.filter(kind="dispose").count() == 1
    # what went wrong is the rate, 3.95 gal on that wall, twice on one day; nothing of the stock
    assert set(OpenItem.objects.values_list("code", flat=True)) == {"rate_off_label", "too_soon"}


def test_with_several_containers_one_is_named_and_without_one_an_item_opens(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    settled(shelf.house, mixed(shelf.house), "rinsate", "1")
    item = OpenItem.objects.get(code="rest_without_stock")
    assert "put into a rinsate container, and the branch has none" in item.sentence
    new = {"branch_id": shelf.store.branch_id, "kind": "rinsate", "by": shelf.manager}
    one, other = (add_place(name=name, **new) for name in ("Drum", "Tank"))
    load = mixed(shelf.house)
    for wrong in (None, shelf.store.pk):
        with pytest.raises(Refused, match="which rinsate container") as refused:
            settled(shelf.house, load, "rinsate", "1", container_id=wrong)
        assert refused.value.facts["field"] == "container"
    settled(shelf.house, load, "rinsate", "1", container_id=other.pk)
    assert (shelf.left(lot, one), shelf.left(lot, other)) == (0, 29_574)


def test_no_more_is_taken_out_than_the_load_held(shelf: Shelf) -> None:
    house, lot = shelf.house, shelf.receive()
    shelf.load(lot, "20")
    load = mixed(house)
    used(house, load)
    gone = {"how": "On a labeled site", "where": "Gravel yard"}
    # 1.6 gal by the record and 2.49 gal are 0.09 gal over 4 gal, more than 2 % of them
    with pytest.raises(Refused, match=r"0\.09 gal more than was mixed") as refused:
        settled(house, load, "disposed", "2.49", **gone)
    assert refused.value.facts["field"] == "amount"
    assert not LoadRest.objects.exists()
    settled(house, load, "disposed", "2.47", **gone)
    moves = StockMove.objects.filter(kind__in=("use", "dispose"))
    assert sum(move.ul or 0 for move in moves) == load.product_ul


def test_without_a_lot_on_the_truck_an_item_opens(shelf: Shelf) -> None:
    load = mixed(shelf.house)
    settled(shelf.house, load, "disposed", "4", how="Collection day", where="County depot")
    item = OpenItem.objects.get()
    assert item.code == "rest_without_stock"
    assert "no lot of the Demonstration A SC, label of Jan 2026 is on Truck 4" in item.sentence


def test_what_is_kept_is_used_on_and_what_ends_is_over(house: House) -> None:
    load = mixed(house)
    used(house, load)
    settled(house, load, "kept", "2.4")
    used(house, load, "0.9")
    # that work was over before the tank was read: it changes nothing of what was found
    (aboard,) = loads_on_board(house.technician)
    assert aboard.left_ul == 9_084_988
    assert settled(house, load, "none").difference_ul == -9_084_988
    assert (
        "0.00 gal was left, 2.40 gal less" in OpenItem.objects.get(code="load_difference").sentence
    )
    assert loads_on_board(house.technician) == ()
    with pytest.raises(Refused, match="empty or was disposed of"):
        used(house, load, "0.1")
    with pytest.raises(Refused, match="has ended already"):
        settled(house, load, "kept", "0.1")


def test_what_is_found_and_kept_is_what_is_left_from_then_on(house: House) -> None:
    load = mixed(house)
    used(house, load)
    # 2.4 gal by the record, 3 gal in the tank: 0.6 gal of 4 are more than 2 %
    assert settled(house, load, "kept", "3").difference_ul == 2_271_247
    assert (
        "3.00 gal was left, 0.60 gal more" in OpenItem.objects.get(code="load_difference").sentence
    )
    assert load_for(house.technician, load.pk).left_ul == 11_356_235
    later = NOW + timedelta(hours=1)
    used(house, load, "1", now=later, started_at=NOW, finished_at=later)
    assert load_for(house.technician, load.pk).left_ul == 11_356_235 - 3_785_412
    settled(house, load, "kept", "2", now=later)
    assert OpenItem.objects.filter(code="load_difference").count() == 1
    assert load_for(house.technician, load.pk).left_ul == 7_570_824


def test_the_same_rest_twice_is_one_rest(house: House) -> None:
    load = mixed(house)
    leftover = Leftover(uuid.uuid4(), "none")
    said = {"load_id": load.pk, "leftover": leftover, "by": house.technician, "now": NOW}
    assert settle_load(**said) == settle_load(**said)
    assert LoadRest.objects.count() == 1


def test_a_rest_said_of_one_load_ends_no_other(house: House) -> None:
    one, other = mixed(house), mixed(house)
    leftover = Leftover(uuid.uuid4(), "none")
    settle_load(load_id=one.pk, leftover=leftover, by=house.technician, now=NOW)
    with pytest.raises(Refused, match="said of another load"):
        settle_load(load_id=other.pk, leftover=leftover, by=house.technician, now=NOW)
    assert LoadRest.objects.count() == 1


def test_more_than_was_left_opens_an_item(house: House) -> None:
    load = mixed(house, product=Entered("1", "fl_oz"), finished=Entered("1", "gal"))
    used(house, load, "1.01")  # within 2 % of the gallon
    assert not OpenItem.objects.filter(code="load_difference").exists()
    used(house, load, "0.5")
    (item,) = OpenItem.objects.filter(code="load_difference")
    assert "0.50 gal was put out of a load with 0.00 gal left." in item.sentence


@pytest.mark.parametrize(
    ("kind", "amount", "words", "field", "sentence"),
    [
        ("lost", "1", {}, "kind", "Say what was done"),
        ("kept", "", {}, "amount", "amount is missing"),
        ("kept", "4.2", {}, "amount", "more than was mixed"),
        ("none", "1", {}, "amount", "Nothing is left, and an amount"),
        ("disposed", "1", {"how": "Poured"}, "where", "Say where"),
        ("disposed", "1", {"where": "Depot"}, "how", "Say how"),
        ("kept", "1", {"how": "Poured"}, "how", "was not disposed of"),
        ("rinsate", "1", {"where": "x" * 121}, "where", "At most 120"),
    ],
)
def test_what_cannot_be_left(
    house: House, kind: str, amount: str, words: dict[str, str], field: str, sentence: str
) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        settled(house, mixed(house), kind, amount, **words)
    assert refused.value.facts["field"] == field
    assert not LoadRest.objects.exists()
