"""The use log against the stock moves, by product and month, and what is missing taken later."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from accounts.models import OpenItem, Person
from accounts.refusals import Refused
from tests.factories import client_for, make_record
from tests.treatments.conftest import NOW, House
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import ApplicationRecord, PastDriver, StockMove
from treatments.rules.applications import Entered
from treatments.selectors.stock import vehicle_at
from treatments.selectors.stock_agreement import Comparison, compare_use
from treatments.selectors.stock_page import stock_page
from treatments.services.recording import record_application
from treatments.services.stock_places import add_place, edit_place
from treatments.services.stock_use import take_back_use, take_missing

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
SINCE = NOW.date() - timedelta(days=90)
# 1.6 x 29,573.5295625 uL (NIST Handbook 44, Appendix C)
USED = 47_318


def recorded(house: House, amount: str = "1.6") -> ApplicationRecord:
    application = house.application(product_amount=Entered(amount, "fl_oz"))
    return record_application(application=application, by=house.technician, now=NOW).record


def compared(shelf: Shelf) -> Comparison:
    return compare_use(shelf.manager, SINCE)


def test_what_was_taken_agrees(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    recorded(shelf.house)
    found = compared(shelf)
    assert (found.is_whole, found.agreeing) == (True, 1)


def test_two_records_that_cancel_out_are_both_named(shelf: Shelf) -> None:
    """The sum agrees, and still neither record took what it says."""
    lot = shelf.receive()
    shelf.load(lot, "10")
    short, over = recorded(shelf.house), recorded(shelf.house)
    for record, by_how in ((short, -1000), (over, 1000)):
        StockMove.objects.create(
            kind="use", lot=lot, from_place=shelf.truck, record=record, amount="0", unit="fl_oz",
            ul=by_how, at=NOW,
        )  # fmt: skip
    found = compared(shelf)
    assert found.differing == ()
    assert {one.record_id: one.is_short for one in found.records} == {
        short.pk: True,
        over.pk: False,
    }
    assert not found.is_whole


def test_each_month_stands_by_itself(shelf: Shelf) -> None:
    for on in (date(2026, 10, 31), date(2026, 11, 1), date(2026, 11, 2)):
        make_record(shelf.house.band, shelf.house.technician, shelf.house.use, applied_on=on)
    found = compared(shelf)
    # 0.48 fl oz a record
    assert [(row.month, row.logged, row.difference) for row in found.differing] == [
        (date(2026, 10, 1), "0.48 fl oz", "Not taken: 0.48 fl oz"),
        (date(2026, 11, 1), "0.96 fl oz", "Not taken: 0.96 fl oz"),
    ]


def test_a_voided_record_must_have_put_back_what_it_took(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    record = recorded(shelf.house)
    make_record(
        shelf.house.band, shelf.house.technician, shelf.house.use, entry="void", corrects=record,
        applied_on=record.applied_on, product_amount="", product_ul=None,
    )  # fmt: skip
    (row,) = compared(shelf).differing
    assert row.difference == "Taken too much: 1.60 fl oz"
    take_back_use(record=record, reason="Voided", by=shelf.manager, now=NOW)
    assert compared(shelf).is_whole


def test_without_a_vehicle_nothing_is_compared(house: House, manager: Person) -> None:
    recorded(house)
    found = compare_use(manager, SINCE)
    assert (found.differing, found.agreeing, found.records) == ((), 0, ())


def test_what_is_missing_is_taken_once_the_lot_is_aboard(shelf: Shelf) -> None:
    record = recorded(shelf.house)
    again = {"record_id": record.pk, "by": shelf.manager, "now": NOW}
    with pytest.raises(Refused, match="Transfer it there first"):
        take_missing(**again)
    lot = shelf.receive()
    shelf.load(lot, "10")
    (move,) = take_missing(**again)
    assert (move.quantity, move.record_id, move.kind) == (USED, record.pk, "use")
    assert OpenItem.objects.get().closed_note == "Taken later by Morgan Manager."
    assert compared(shelf).is_whole
    with pytest.raises(Refused, match="Nothing is missing"):
        take_missing(**again)


def test_taking_from_the_sheet(shelf: Shelf) -> None:
    record = recorded(shelf.house)
    client = client_for(shelf.manager)
    url = f"/stock/records/{record.pk}/take/"
    assert url in client.get("/stock/").content.decode()
    refused = client.post(url)
    assert refused.status_code == 422
    assert "Transfer it there first" in refused.content.decode()
    shelf.load(shelf.receive(), "10")
    assert client.post(url).status_code == 302
    text = client.get("/stock/").content.decode()
    assert "Every record took what it says" in text
    assert url not in text


@pytest.mark.parametrize("who", ["office", "technician", "nobody"])
def test_who_may_not_take(shelf: Shelf, office: Person, who: str) -> None:
    record = recorded(shelf.house)
    people = {"office": office, "technician": shelf.house.technician}
    with pytest.raises(Refused):
        take_missing(
            record_id=record.pk if who != "nobody" else 0,
            by=people.get(who, shelf.manager),
            now=NOW,
        )
    assert StockMove.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_two_people_take_the_same_missing_amount_once(shelf: Shelf) -> None:
    record = recorded(shelf.house)
    shelf.load(shelf.receive(), "10")

    def take(_: int) -> str:
        try:
            take_missing(record_id=record.pk, by=shelf.manager, now=NOW)
        except Refused as refused:
            return refused.sentence
        finally:
            connection.close()
        return "taken"

    with ThreadPoolExecutor(3) as pool:
        said = sorted(pool.map(take, range(3)))
    assert said.count("taken") == 1
    assert sum(move.quantity for move in StockMove.objects.filter(kind="use")) == USED


def test_the_sheet_reads_as_often_for_three_lots_as_for_thirty(
    shelf: Shelf, make_house: Callable[..., House]
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as read:
            page = stock_page(shelf.manager, NOW.date())
        assert page.rows
        return len(read)

    def more(number: int) -> None:
        for _ in range(number):
            count = StockMove.objects.count()
            shelf.load(shelf.receive(f"L-{count}"), "10")
            recorded(make_house(street=f"{count} Mill Road"))

    more(3)
    few = queries()
    more(27)
    assert queries() == few


def test_a_new_driver_makes_older_records_nobodys(shelf: Shelf, other_technician: Person) -> None:
    house = shelf.house
    make_record(house.band, other_technician, house.use, applied_on=date(2026, 11, 1))
    assert compared(shelf).is_whole
    shelf.load(shelf.receive(), "10")
    record = recorded(house)
    edit_place(
        place_id=shelf.truck.pk, name="Truck 4", technician_id=other_technician.pk,
        by=shelf.manager, now=NOW,
    )  # fmt: skip
    # the older record had no vehicle on its day, and this one still took from the truck of its day
    assert compared(shelf).is_whole
    assert StockMove.objects.get(record=record).from_place == shelf.truck
    assert vehicle_at(house.technician.pk, record.finished_at) == shelf.truck
    assert vehicle_at(house.technician.pk, NOW) is None
    assert vehicle_at(other_technician.pk, NOW) == shelf.truck
    driver = PastDriver.objects.get()
    assert (driver.technician, driver.since, driver.until) == (house.technician, None, NOW)


def test_what_was_missed_is_taken_from_the_vehicle_of_that_day(
    shelf: Shelf, other_technician: Person
) -> None:
    record = recorded(shelf.house)
    edit_place(
        place_id=shelf.truck.pk, name="Truck 4", technician_id=other_technician.pk,
        by=shelf.manager, now=NOW,
    )  # fmt: skip
    van = add_place(
        branch_id=shelf.store.branch_id, kind="vehicle", name="Van", by=shelf.manager,
        technician_id=shelf.house.technician.pk, now=NOW,
    )  # fmt: skip
    lot = shelf.receive()
    shelf.load(lot, "10")
    take_missing(record_id=record.pk, by=shelf.manager, now=NOW)
    # 10 fl oz - 1.6 fl oz
    assert (shelf.left(lot, shelf.truck), shelf.left(lot, van)) == (295_735 - USED, 0)


def test_nothing_is_missing_of_a_voided_record(shelf: Shelf) -> None:
    record = recorded(shelf.house)
    shelf.load(shelf.receive(), "10")
    void = make_record(
        shelf.house.band, shelf.house.technician, shelf.house.use, entry="void", corrects=record,
        applied_on=record.applied_on, product_amount="", product_ul=None,
    )  # fmt: skip
    for one in (record, void):
        with pytest.raises(Refused, match="corrected or voided"):
            take_missing(record_id=one.pk, by=shelf.manager, now=NOW)
    assert not StockMove.objects.filter(kind="use").exists()


def test_who_drove_before_is_never_changed(shelf: Shelf) -> None:
    edit_place(place_id=shelf.truck.pk, name="Truck 4", by=shelf.manager, now=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        PastDriver.objects.update(until=NOW + timedelta(days=1))
