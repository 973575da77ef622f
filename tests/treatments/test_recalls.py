"""A withdrawn label is a matter of each branch that holds a lot or a load of it, until none is.

What the trade insists on, 10 and 12: a lot is judged by its own label until that is withdrawn, and
what is left is found wherever it stands.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from accounts.models import OpenItem, Person
from accounts.selectors.open_items import items_page
from accounts.services.open_items import close_item
from scheduling.services.sweep import sweep_now
from tests.factories import client_for, make_branch, make_label, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import corrected
from tests.treatments.load_cases import mixed, settled, used
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import LabelVersion, ProductLot
from treatments.rules.applications import Entered
from treatments.rules.load_entries import AlsoMixed
from treatments.selectors.log import verify
from treatments.selectors.recalls import held_under
from treatments.services.recalls import LIFTED, NONE_LEFT, RECALL
from treatments.services.stock import dispose
from treatments.services.stock_places import add_place
from treatments.services.withdrawals import lift_withdrawal, withdraw_label

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
REASON = "Recalled by the maker."


def withdrawn(version: LabelVersion, by: Person) -> None:
    withdraw_label(label_version_id=version.pk, last_day=NOW.date(), reason=REASON, by=by, now=NOW)


def still_open() -> list[OpenItem]:
    return list(OpenItem.objects.filter(code=RECALL, closed_at=None))


def disposed(shelf: Shelf, lot: ProductLot, amount: str, place_id: int) -> None:
    dispose(
        lot_id=lot.pk, place_id=place_id, amount=amount, unit="fl_oz", how="As labeled",
        where="County site", by=shelf.manager, now=NOW,
    )  # fmt: skip


def test_the_item_names_lots_and_tanks_and_closes_when_nothing_is_left(shelf: Shelf) -> None:
    house, version = shelf.house, shelf.house.use.label_version
    lot = shelf.receive()
    shelf.load(lot, "8")
    load = mixed(house)
    withdrawn(version, shelf.manager)
    (item,) = still_open()
    assert item.branch_id == house.place.branch_id
    for words in (
        "not to be used after Nov 25, 2026: Recalled by the maker.",
        f"lot L-1, 56.00 fl oz at {shelf.store}",
        f"lot L-1, 8.00 fl oz at {shelf.truck}",
        f"4.00 gal of spray in a tank of {house.technician.full_name} on {shelf.truck}, mixed",
    ):
        assert words in item.sentence, item.sentence
    disposed(shelf, lot, "56", shelf.store.pk)
    settled(house, load, "disposed", "4", how="As labeled", where="County site")
    (item,) = still_open()  # the truck holds what the tank did not
    assert "Main store" not in item.sentence and "in a tank" not in item.sentence
    assert f"lot L-1, 4.00 fl oz at {shelf.truck}" in item.sentence
    disposed(shelf, lot, "4", shelf.truck.pk)
    item.refresh_from_db()
    assert (item.closed_at, item.closed_note) == (NOW, NONE_LEFT)


def test_each_branch_has_its_own_item_with_a_link_to_the_label(shelf: Shelf) -> None:
    version, manager = shelf.house.use.label_version, shelf.manager
    shelf.receive()
    other = make_branch()
    store = add_place(branch_id=other.pk, kind="store", name="Second store", by=manager)
    shelf.receive("L-9", place_id=store.pk)
    empty = make_branch()
    withdrawn(version, manager)
    assert {item.branch_id for item in still_open()} == {shelf.store.branch_id, other.pk}
    first, second = sorted(still_open(), key=lambda item: item.branch_id)
    assert "L-9" not in first.sentence and "L-1," not in second.sentence
    assert not OpenItem.objects.filter(branch=empty).exists()
    rows, _ = items_page(manager, is_closed=False, code=RECALL, number=1)
    assert {row.url for row in rows} == {version.get_absolute_url()}


def test_the_page_of_the_label_links_what_is_held(shelf: Shelf) -> None:
    house, version = shelf.house, shelf.house.use.label_version
    lot, load = shelf.receive(), mixed(shelf.house)
    client = client_for(shelf.manager)
    assert "Still held" not in client.get(version.get_absolute_url()).content.decode()
    withdrawn(version, shelf.manager)
    html = client.get(version.get_absolute_url()).content.decode()
    assert f'href="{lot.get_absolute_url()}"' in html
    assert f'href="{load.get_absolute_url()}"' in html and load.branch.name in html
    shown = client_for(house.technician).get(version.get_absolute_url()).content.decode()
    assert "Still held" in shown and load.get_absolute_url() not in shown


def test_what_a_tank_loses_is_said_at_once(house: House, manager: Person) -> None:
    """Without a truck nothing moves in stock: use and end of a load say it themselves."""
    load = mixed(house)
    withdrawn(house.use.label_version, manager)
    used(house, load, "1.6")
    (item,) = still_open()
    assert "2.40 gal of spray in a tank" in item.sentence
    settled(house, load, "disposed", "2.4", how="As labeled", where="Yard")
    assert still_open() == []
    assert held_under(house.use.label_version, [house.place.branch_id], NOW) == ()


def test_a_load_mixed_before_the_withdrawal_is_told_when_it_arrives(
    house: House, manager: Person
) -> None:
    """The phone was offline: the mixing of the morning comes after the recall of noon."""
    version = house.use.label_version
    withdrawn(version, manager)
    mixed(house)
    (item,) = still_open()
    assert "4.00 gal of spray in a tank" in item.sentence


def test_a_correction_says_anew_what_is_in_the_tank(house: House, manager: Person) -> None:
    load = mixed(house)
    withdrawn(house.use.label_version, manager)
    record = used(house, load, "1.6").record
    corrected(record, house.technician, manager, finished_amount="1.2 gal")
    (item,) = still_open()
    assert "2.80 gal of spray in a tank" in item.sentence, item.sentence
    assert verify(load.branch_id).is_whole


def test_the_second_product_of_a_tank_is_held_too(house: House, manager: Person) -> None:
    other = make_label(
        make_product("Demonstration D EC", registration_number="99999-104"),
        pests=[house.pest],
        use={"rate_min": "0.4", "rate_max": "0.5", "per_gallon": "0.5"},
    )
    load = mixed(house, also=AlsoMixed(other.pk, Entered("2", "fl_oz")))
    withdrawn(other.label_version, manager)
    (item,) = still_open()
    assert "4.00 gal of spray in a tank" in item.sentence
    settled(house, load, "disposed", "4", how="As labeled", where="Yard")
    assert still_open() == []


def test_what_a_manager_closed_stays_closed_until_something_changes(shelf: Shelf) -> None:
    lot = shelf.receive()
    withdrawn(shelf.house.use.label_version, shelf.manager)
    (item,) = still_open()
    close_item(item_id=item.pk, note="The dealer takes it.", by=shelf.manager, now=NOW)
    sweep_now(now=NOW + timedelta(hours=1))
    assert still_open() == []
    disposed(shelf, lot, "4", shelf.store.pk)
    (again,) = still_open()
    assert again.pk != item.pk and "60.00 fl oz" in again.sentence, again.sentence


def test_a_lifted_withdrawal_closes_it_and_another_one_opens_it_again(shelf: Shelf) -> None:
    version = shelf.house.use.label_version
    shelf.receive()
    withdrawn(version, shelf.manager)
    lift_withdrawal(label_version_id=version.pk, reason="A mistake.", by=shelf.manager, now=NOW)
    assert still_open() == []
    assert OpenItem.objects.get(code=RECALL).closed_note == LIFTED
    withdrawn(version, shelf.manager)
    assert len(still_open()) == 1


def test_a_lot_that_comes_after_the_withdrawal_is_told_too(shelf: Shelf) -> None:
    withdrawn(shelf.house.use.label_version, shelf.manager)
    assert still_open() == []
    shelf.receive("L-5")
    (item,) = still_open()
    assert "lot L-5" in item.sentence
