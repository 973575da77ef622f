"""The weekly check of a vehicle: who may, what stays open, what the sheets say."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from accounts.models import OpenItem, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import client_for, make_branch, make_person
from tests.treatments.conftest import NOW
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import StockPlace, VehicleCheck, VehicleCheckItem
from treatments.rules.vehicles import Found, VehicleItem
from treatments.selectors.vehicles import own_vehicle, vehicle_rows
from treatments.services.stock_places import add_place, edit_place
from treatments.services.vehicles import check_vehicle

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
ABOARD: Mapping[VehicleItem, Found] = dict.fromkeys(VehicleItem, Found(True))
NO_EYEWASH = {**ABOARD, VehicleItem.EYEWASH: Found(False, "Bottle is empty, new one ordered.")}
TODAY = NOW.date()


def checked(shelf: Shelf, found: Mapping[VehicleItem, Found] = ABOARD, **changes: Any) -> Any:
    said = {"vehicle_id": shelf.truck.pk, "by": shelf.house.technician, "now": NOW}
    return check_vehicle(**said | {"found": found} | changes)


def test_a_missing_item_stays_open_until_a_check_finds_it(shelf: Shelf) -> None:
    checked(shelf, NO_EYEWASH)
    checked(shelf, NO_EYEWASH, now=NOW + timedelta(hours=1))
    item = OpenItem.objects.get()
    assert item.code == "vehicle_item_missing"
    assert "Eyewash is missing on Truck 4 (DEMO 44): Bottle is empty" in item.sentence
    checked(shelf, by=shelf.manager, now=NOW + timedelta(days=1))
    item.refresh_from_db()
    assert item.closed_at == NOW + timedelta(days=1)
    assert item.closed_note == "Found aboard by Morgan Manager."
    assert (VehicleCheck.objects.count(), VehicleCheckItem.objects.count()) == (3, 15)


def test_half_a_check_stores_nothing(shelf: Shelf) -> None:
    for found in ({}, {**ABOARD, VehicleItem.LABELS: Found(False)}):
        with pytest.raises(Refused):
            checked(shelf, found)
    assert VehicleCheck.objects.count() == 0


def test_who_may_check_what(shelf: Shelf, office: Person, other_technician: Person) -> None:
    for by in (office, other_technician):
        with pytest.raises(Refused):
            checked(shelf, by=by)
    with pytest.raises(Refused, match="no such vehicle"):
        checked(shelf, by=shelf.manager, vehicle_id=shelf.store.pk)
    with pytest.raises(Refused, match="no such vehicle"):
        checked(shelf, by=shelf.manager, vehicle_id=0)


def test_the_day_is_the_day_of_the_branch(shelf: Shelf) -> None:
    # 9 PM in Ohio is the next day in UTC
    late = NOW + timedelta(hours=6)
    assert late.date() != TODAY
    assert checked(shelf, now=late).checked_on == TODAY


def test_a_missing_item_without_a_note_is_refused_by_the_database(shelf: Shelf) -> None:
    check = checked(shelf)
    with pytest.raises(IntegrityError), transaction.atomic():
        VehicleCheckItem.objects.create(vehicle_check=check, item="other", is_present=False)


def test_how_the_vehicle_stands_over_the_days(shelf: Shelf) -> None:
    driver = shelf.house.technician
    before = own_vehicle(driver, TODAY)
    assert before is not None and before.standing.word == "Never checked"
    checked(shelf, NO_EYEWASH)
    for days, word in ((0, "Missing: eyewash"), (8, "Check overdue, it was due Dec 2, 2026")):
        row = own_vehicle(driver, TODAY + timedelta(days=days))
        assert row is not None
        assert row.standing.word.startswith(word)
        assert row.checked == "Nov 25, 2026 by Terry Technician"
    assert own_vehicle(shelf.manager, TODAY) is None


def test_the_list_reads_as_often_for_three_as_for_thirty(shelf: Shelf) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as read:
            vehicle_rows(shelf.manager, TODAY)
        return len(read)

    _more_trucks(shelf, 2)
    few = queries()
    _more_trucks(shelf, 27)
    assert queries() == few


def _more_trucks(shelf: Shelf, number: int) -> None:
    for _ in range(number):
        name = f"Van {StockPlace.objects.count()}"
        truck = add_place(
            branch_id=shelf.store.branch_id, kind="vehicle", name=name, by=shelf.manager
        )
        checked(shelf, NO_EYEWASH, vehicle_id=truck.pk, by=shelf.manager)


ANSWERS = {item.value: "present" for item in VehicleItem}


def told(page: Any) -> str:
    return " ".join(page.content.decode().split())


def test_the_technician_is_warned_checks_and_is_not_warned_any_more(shelf: Shelf) -> None:
    client = client_for(shelf.house.technician)
    url = f"/stock/vehicles/{shelf.truck.pk}/check/"
    assert "Truck 4 (DEMO 44): Never checked" in told(client.get("/today/"))
    half = client.post(url, dict.fromkeys(list(ANSWERS)[1:], "present"))
    assert (half.status_code, "say whether it is aboard" in told(half)) == (422, True)
    missing = ANSWERS | {"eyewash": "missing"}
    silent = client.post(url, missing)
    assert silent.status_code == 422
    assert "Eyewash is missing: write what is wrong" in told(silent)
    # nothing typed is lost
    assert re.search(r'name="eyewash" value="missing"[^>]* checked', told(silent))
    answer = client.post(url, missing | {"eyewash_note": "Ordered"})
    assert (answer.status_code, answer["Location"]) == (302, f"/stock/vehicles/{shelf.truck.pk}/")
    assert "Missing: eyewash" in told(client.get("/today/"))
    page = told(client.get(answer["Location"]))
    assert "Eyewash: Ordered" in page
    client.post(url, ANSWERS)
    assert "Check the vehicle" not in told(client.get("/today/"))


def test_the_stock_sheet_says_what_is_overdue_and_missing(shelf: Shelf) -> None:
    client = client_for(shelf.manager)
    page = told(client.get("/stock/"))
    assert "<b>1</b> vehicle check overdue" in page
    client.post(
        f"/stock/vehicles/{shelf.truck.pk}/check/",
        ANSWERS | {"extinguisher": "missing", "extinguisher_note": "Gauge is in the red"},
    )
    page = told(client.get("/stock/"))
    assert "vehicle check overdue" not in page
    assert "Fire extinguisher is missing on Truck 4 (DEMO 44): Gauge is in the red" in page


def test_a_technician_sees_only_the_own_vehicle(shelf: Shelf, other_technician: Person) -> None:
    client = client_for(other_technician)
    for page in ("", "check/"):
        assert client.get(f"/stock/vehicles/{shelf.truck.pk}/{page}").status_code == 404
    # the store is no vehicle
    store = f"/stock/vehicles/{shelf.store.pk}/"
    assert client_for(shelf.manager).get(store).status_code == 404


def test_a_vehicle_gets_another_driver(shelf: Shelf, other_technician: Person) -> None:
    client = client_for(shelf.manager)
    url = f"/stock/places/{shelf.truck.pk}/edit/"
    new = {"name": "Truck 4", "plate": "demo 45", "technician": other_technician.pk}
    assert client.post(url, new).status_code == 302
    shelf.truck.refresh_from_db()
    assert (shelf.truck.plate, shelf.truck.technician) == ("DEMO 45", other_technician)
    assert client.post(url, new | {"technician": ""}).status_code == 302
    shelf.truck.refresh_from_db()
    assert shelf.truck.technician is None


def test_nobody_drives_for_another_branch(shelf: Shelf) -> None:
    stranger = make_person([Role.TECHNICIAN], make_branch("Erie", "PA"))
    said = {"name": "Van", "technician_id": stranger.pk, "by": shelf.manager}
    for act in (
        lambda: add_place(branch_id=shelf.store.branch_id, kind="vehicle", **said),
        lambda: edit_place(place_id=shelf.truck.pk, now=NOW, **said),
    ):
        with pytest.raises(Refused, match="of its own branch"):
            act()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": " "}, "missing or taken"),
        ({"name": "MAIN store"}, "missing or taken"),
        ({"plate": "DEMO 1", "place": "store"}, "is no vehicle"),
        ({"driver": True, "place": "store"}, "is no vehicle"),
        ({"driver": True, "place": "second"}, "has a vehicle already"),
        ({"place": "none"}, "no such place"),
    ],
)
def test_what_a_place_may_not_become(shelf: Shelf, changes: dict[str, Any], sentence: str) -> None:
    second = add_place(
        branch_id=shelf.store.branch_id, kind="vehicle", name="Van", by=shelf.manager
    )
    places = {"store": shelf.store.pk, "second": second.pk, "none": 0, "truck": shelf.truck.pk}
    with pytest.raises(Refused, match=sentence):
        edit_place(
            place_id=places[changes.get("place", "truck")],
            name=changes.get("name", "Another name"),
            plate=changes.get("plate", ""),
            technician_id=shelf.house.technician.pk if changes.get("driver") else None,
            by=shelf.manager,
            now=NOW,
        )
