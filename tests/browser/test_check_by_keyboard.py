"""The weekly check and a transfer with nothing but the keyboard."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from accounts.models import OpenItem, Person
from tests.browser.test_by_keyboard import tab_to
from tests.factories import make_label
from treatments.models import StockMove, VehicleCheckItem
from treatments.rules.vehicles import VehicleItem
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_vehicle_is_checked_without_a_mouse(
    technician: Person, page_for: Callable[..., Page]
) -> None:
    add_place(
        branch_id=technician.branch_id, kind="vehicle", name="Truck 4", by=None,
        technician_id=technician.pk,
    )  # fmt: skip
    page = page_for(technician)
    page.goto("/today/")
    tab_to(page, "Check the vehicle")
    page.keyboard.press("Enter")
    page.wait_for_url("**/check/")
    for item in VehicleItem:
        tab_to(page, "Aboard")
        if item == VehicleItem.EYEWASH:
            page.keyboard.press("ArrowDown")
            tab_to(page, "Note on the eyewash")
            page.keyboard.type("Bottle is empty")
        else:
            page.keyboard.press("Space")
    tab_to(page, "Save the check")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: not url.endswith("/check/"))
    missing = VehicleCheckItem.objects.filter(is_present=False)
    assert [(one.item, one.note) for one in missing] == [("eyewash", "Bottle is empty")]
    assert OpenItem.objects.get().code == "vehicle_item_missing"


def test_a_lot_is_transferred_without_a_mouse(
    manager: Person, page_for: Callable[..., Page]
) -> None:
    new = {"branch_id": manager.branch_id, "by": None}
    store = add_place(**new, kind="store", name="Main store")
    truck = add_place(**new, kind="vehicle", name="Truck 4")
    move = StockMove.objects.get(lot=_received(store.pk))
    page = page_for(manager)
    page.goto(f"/stock/lots/{move.lot_id}/")
    tab_to(page, "Transfer")
    page.keyboard.press("Enter")
    page.wait_for_url("**/transfer/")
    tab_to(page, "From")
    page.keyboard.press("Tab")
    page.keyboard.type("Truck 4")
    tab_to(page, "Amount")
    page.keyboard.type("10")
    tab_to(page, "Transfer")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: not url.endswith("/transfer/"))
    done = StockMove.objects.get(kind="transfer")
    assert (done.from_place, done.to_place, done.amount) == (store, truck, "10")


def _received(place_id: int) -> int:
    from_label = make_label().label_version
    return receive_lot(
        place_id=place_id, label_version_id=from_label.pk, lot_number="L-1", container_size="32",
        container_unit="fl_oz", containers=1, received_on=from_label.label_date,
        dealer="Demonstration Supply", by=None, now=from_label.created_at,
    ).pk  # fmt: skip
