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
from treatments.selectors.loads import loads_on_board, lots_to_mix
from treatments.services.loads import settle_load

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_stock_leaves_with_records_and_with_what_is_disposed_of(shelf: Shelf) -> None:
    house = shelf.house
    other, lot = shelf.receive("L-1", received_on=NOW.date() - timedelta(days=40)), shelf.receive()
    for one in (other, lot):
        shelf.load(one, "10")
    assert lots_to_mix(house.technician, house.use.label_version_id) == [other, lot]
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
    settled(shelf.house, load, "rinsate", "0.2")
    gone = StockMove.objects.get(kind="dispose")
    # 0.2 gal of 1 fl oz a gallon: 0.2 fl oz
    assert (gone.ul, gone.disposed_how) == (5_915, "Into the rinsate container")
    empty = mixed(shelf.house)
    used(shelf.house, empty, "3.95")
    settled(shelf.house, empty, "none")
    assert StockMove.objects.filter(kind="dispose").count() == 1
    assert not OpenItem.objects.exists()


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
    # 15,141,647 - 6,056,659 - 3,406,871 were still to be in it
    assert settled(house, load, "none").difference_ul == -5_678_117
    assert "0.00 gal was left, 1.50 gal less" in OpenItem.objects.get().sentence
    assert loads_on_board(house.technician) == ()
    with pytest.raises(Refused, match="empty or was disposed of"):
        used(house, load, "0.1")
    with pytest.raises(Refused, match="has ended already"):
        settled(house, load, "kept", "0.1")


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
