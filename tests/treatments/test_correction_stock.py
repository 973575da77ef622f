"""Stock follows corrections and voids: what the log counts is what the moves took, exactly once."""

from __future__ import annotations

from datetime import date

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from tests.treatments.conftest import NOW
from tests.treatments.correction_cases import canonical_fl_oz, corrected, fill, voided
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import ApplicationRecord, ProductLot, StockMove
from treatments.selectors.stock_agreement import compare_use
from treatments.services.recording import record_application
from treatments.services.stock_use import take_missing

__all__ = ["shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TEN = canonical_fl_oz("10")


def used(shelf: Shelf) -> tuple[ProductLot, ApplicationRecord]:
    """10 fl oz aboard and a record that took 1.6 of them."""
    lot = shelf.receive()
    shelf.load(lot, "10")
    done = record_application(
        application=shelf.house.application(), by=shelf.house.technician, now=NOW
    )
    return lot, done.record


def agrees(shelf: Shelf) -> bool:
    found = compare_use(shelf.manager, date(2026, 11, 1))
    return found.is_whole and found.agreeing == 1


def test_a_correction_puts_back_and_takes_anew(shelf: Shelf) -> None:
    lot, record = used(shelf)
    after = corrected(record, shelf.house.technician, shelf.manager, product_amount="1.2 fl_oz")
    moves = StockMove.objects.filter(kind="use").order_by("pk").values_list("record", "ul")
    first, less = canonical_fl_oz("1.6"), canonical_fl_oz("1.2")
    assert list(moves) == [(record.pk, first), (record.pk, -first), (after.pk, less)]
    assert shelf.left(lot, shelf.truck) == TEN - less
    assert agrees(shelf)


def test_an_addendum_leaves_the_truck_as_it_is(shelf: Shelf) -> None:
    lot, record = used(shelf)
    fill(record, shelf.house.technician, wind_mph="4")
    assert shelf.left(lot, shelf.truck) == TEN - canonical_fl_oz("1.6")
    assert agrees(shelf)


def test_an_addendum_takes_the_product_that_was_missing(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "10")
    gap = shelf.house.application(product_amount=None)
    record = record_application(application=gap, by=shelf.house.technician, now=NOW).record
    assert shelf.left(lot, shelf.truck) == TEN
    fill(record, shelf.house.technician, product_amount="1.6 fl_oz")
    assert shelf.left(lot, shelf.truck) == TEN - canonical_fl_oz("1.6")
    assert agrees(shelf)


def test_a_void_puts_everything_back(shelf: Shelf) -> None:
    lot, record = used(shelf)
    void = voided(record, shelf.house.technician, shelf.manager)
    assert shelf.left(lot, shelf.truck) == TEN
    assert agrees(shelf)
    for pk in (record.pk, void.pk):
        with pytest.raises(Refused):
            take_missing(record_id=pk, by=shelf.manager, now=NOW)


def test_another_applicator_takes_from_their_own_truck(
    shelf: Shelf, other_technician: Person
) -> None:
    """The other one has no truck: what was taken is back, nothing is taken."""
    lot, record = used(shelf)
    corrected(record, shelf.house.technician, shelf.manager, applicator=other_technician.pk)
    assert shelf.left(lot, shelf.truck) == TEN
