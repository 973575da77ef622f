"""The sheets of stock and equipment by role, with every bad input said at its field."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from accounts.models import Branch, Person
from tests.factories import client_for
from tests.treatments.conftest import NOW
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import Calibration, Equipment, ProductLot, StockMove, StockPlace
from treatments.services.recording import record_application
from treatments.services.stock_places import set_reorder_level

__all__ = ["shelf"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def client(manager: Person) -> Client:
    """The manager's."""
    return client_for(manager)


def told(page: Any) -> str:
    return " ".join(page.content.decode().split())


def delivery(shelf: Shelf, **changes: Any) -> dict[str, Any]:
    return {
        "label_version": shelf.house.use.label_version_id,
        "place": shelf.store.pk,
        "lot_number": "L-77",
        "containers": 2,
        "container_size": "32",
        "container_unit": "fl_oz",
        "received_on": "2026-11-01",
        "expires_on": "2026-11-02",
        "dealer": "Demonstration Supply",
    } | changes


def test_a_delivery_is_received_and_stands_on_the_sheet(client: Client, shelf: Shelf) -> None:
    answer = client.post("/stock/receive/", delivery(shelf))
    assert (answer.status_code, answer["Location"]) == (302, "/stock/")
    set_reorder_level(
        branch_id=shelf.store.branch_id,
        label_version_id=shelf.house.use.label_version_id,
        amount="1",
        unit="gal",
        by=None,
    )
    text = told(client.get("/stock/"))
    # the lot is expired, so nothing of it counts for the level
    for words in ("L-77", "64.00 fl oz", "Expired", "Main store", "0.00 gal", "1 gal", "Order"):
        assert words in text


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"container_size": "two"}, "is not a number"),
        ({"container_size": "0"}, "The amount is zero"),
        ({"container_unit": "oz_wt"}, "measures this product by volume"),
        ({"label_version": "999999"}, "choose one from this list"),
        ({"expires_on": "2026-10-01"}, "expired before it was received"),
        ({"lot_number": ""}, "required"),
    ],
)
def test_bad_input_comes_back_with_a_sentence(
    client: Client, shelf: Shelf, changes: dict[str, Any], sentence: str
) -> None:
    answer = client.post("/stock/receive/", delivery(shelf, **changes))
    assert answer.status_code == 422
    assert sentence in told(answer)
    assert "Demonstration Supply" in told(answer)
    assert ProductLot.objects.count() == 0


def test_moves_by_hand(client: Client, shelf: Shelf) -> None:
    lot = shelf.receive()
    base = f"/stock/lots/{lot.pk}"
    places = {"from_place": shelf.store.pk, "to_place": shelf.truck.pk}
    amount = {"amount": "10", "unit": "fl_oz"}
    assert client.post(f"{base}/transfer/", places | amount).status_code == 302
    gone = amount | {"place": shelf.store.pk, "how": "Collection day", "where": "Depot"}
    assert client.post(f"{base}/dispose/", gone).status_code == 302
    count = amount | {"place": shelf.store.pk, "reason": ""}
    refused = client.post(f"{base}/count/", count)
    assert refused.status_code == 422
    assert "By the moves there is 44.00 fl oz" in told(refused)
    assert client.post(f"{base}/count/", count | {"reason": "Leaked"}).status_code == 302
    move = StockMove.objects.get(kind="dispose")
    answer = client.post(f"/stock/moves/{move.pk}/take-back/", {"reason": "Other lot"})
    assert answer["Location"] == f"{base}/"
    text = told(client.get(f"{base}/"))
    for words in ("Transferred", "Collection day, Depot", "takes back an earlier move", "Leaked"):
        assert words in text
    assert "counted 34.00 fl oz less" in told(client.get("/stock/"))


def test_below_zero_says_where_to_set_it_right(client: Client, shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "1")
    house = shelf.house
    record_application(application=house.application(), by=house.technician, now=NOW)
    for page in ("/stock/", f"/stock/lots/{lot.pk}/"):
        text = told(client.get(page))
        assert "Below zero" in text
        assert "count the place" in text


def test_logged_use_without_stock_is_a_difference(client: Client, shelf: Shelf) -> None:
    house = shelf.house
    record_application(application=house.application(), by=house.technician, now=NOW)
    text = told(client.get("/stock/"))
    assert "Not taken: 1.60 fl oz" in text
    assert "no lot of the Demonstration A SC" in text


def test_the_office_sees_and_does_not_enter(shelf: Shelf, office: Person) -> None:
    lot = shelf.receive()
    page = client_for(office).get("/stock/")
    assert page.status_code == 200
    assert "Receive a lot" not in told(page)
    assert client_for(office).post(f"/stock/lots/{lot.pk}/dispose/", {}).status_code == 403
    assert client_for(shelf.house.technician).get("/stock/").status_code == 403


def test_a_place_is_added(client: Client, shelf: Shelf) -> None:
    new = {"branch": shelf.store.branch_id, "kind": "store", "name": "Shed", "plate": "DEMO 1"}
    refused = client.post("/stock/places/add/", new)
    assert (refused.status_code, "has no plate" in told(refused)) == (422, True)
    assert client.post("/stock/places/add/", new | {"plate": ""}).status_code == 302
    assert StockPlace.objects.filter(name="Shed").exists()


def test_equipment_is_added_and_calibrated(client: Client, shelf: Shelf) -> None:
    new = {"branch": shelf.store.branch_id, "name": "Can 3", "kind": "hand_can", "tank_gal": "1"}
    assert client.post("/equipment/add/", new).status_code == 302
    one = Equipment.objects.get()
    url = f"/equipment/{one.pk}/calibrate/"
    day = {"measured_on": "2026-11-01"}
    flow = day | {"measuring": "timed_flow", "caught": "946.352946", "over": "60"}
    assert client.post(url, flow).status_code == 422  # six decimals are more than are kept
    refused = client.post(url, flow | {"caught": "946.353"})
    assert (refused.status_code, "covered in a minute" in told(refused)) == (422, True)
    # 1.5 gal over 1,000 sq ft (formula: reference/trade.md 1.9)
    area = day | {"measuring": "area", "caught": "0.75", "over": "500"}
    assert client.post(url, area).status_code == 302
    assert str(Calibration.objects.get()) == "1.5 gal per 1,000 sq ft"
    assert "1.50 gal per 1,000 sq ft" in told(client.get("/equipment/"))
    Branch.objects.update(units="metric")
    metric = told(client.get("/equipment/"))
    # 1.5 x 3.785411784 L on 92.90304 m2: 6.1119 L on 100 m2; a tank of 1 gal holds 3.79 L
    assert "6.11 L per 100 m²" in metric and "3.79 L" in metric and " gal" not in metric
    assert "over a measured plot" in told(client.get(f"/equipment/{one.pk}/"))


def test_another_nozzle_asks_for_another_measurement(client: Client, shelf: Shelf) -> None:
    new = {"branch": shelf.store.branch_id, "name": "Can 3", "kind": "hand_can", "tank_gal": "1"}
    client.post("/equipment/add/", new | {"nozzle": "Fan"})
    client.post("/equipment/add/", new | {"name": "Can 4"})
    one = Equipment.objects.get(name="Can 3")
    day = {"measured_on": "2026-11-01", "measuring": "area", "caught": "0.75", "over": "500"}
    client.post(f"/equipment/{one.pk}/calibrate/", day | {"nozzle": "Fan"})
    url = f"/equipment/{one.pk}/edit/"
    for changes, sentence in (
        ({"name": "can 4", "tank_gal": "1"}, "missing or taken"),
        ({"name": "Can 3", "tank_gal": "0"}, "more than zero gallons"),
        ({"name": "Can 3", "tank_gal": "x"}, "Enter a number"),
    ):
        refused = client.post(url, changes)
        assert (refused.status_code, sentence in told(refused)) == (422, True)
    answer = client.post(url, {"name": "Can 3", "tank_gal": "2", "nozzle": "Cone"})
    assert (answer.status_code, answer["Location"]) == (302, f"/equipment/{one.pk}/")
    for page in ("/equipment/", answer["Location"]):
        assert "was measured with nozzle Fan and has Cone now" in told(client.get(page))
    assert Calibration.objects.get().nozzle == "Fan"
