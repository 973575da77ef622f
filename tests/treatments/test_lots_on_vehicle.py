"""The lots on the technician's truck, as the label check asks for them."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from sites.models import Pest
from tests.treatments.conftest import NOW, House
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_checks import ask, codes
from treatments.selectors.stock import lots_on_vehicle
from treatments.services.stock import transfer

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
__all__ = ["shelf"]


def test_only_what_is_on_the_truck_and_not_yet_empty(
    shelf: Shelf, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    old, new = shelf.receive("L-1", expires_on=date(2026, 11, 24)), shelf.receive("L-2")
    technician, label = shelf.house.technician.pk, shelf.house.use.label_version_id
    assert lots_on_vehicle(technician, label) == ()  # in the store
    shelf.load(old, "10")
    shelf.load(new, "5")
    with django_assert_num_queries(1):
        found = lots_on_vehicle(technician, label)
    assert found == (("L-1", date(2026, 11, 24)), ("L-2", None))
    assert "out_of_date" in codes(ask(shelf.house), "warn")
    back: dict[str, Any] = {"from_place_id": shelf.truck.pk, "to_place_id": shelf.store.pk}
    transfer(lot_id=old.pk, amount="10", unit="fl_oz", by=shelf.manager, now=NOW, **back)
    assert lots_on_vehicle(technician, label) == (("L-2", None),)
    assert "out_of_date" not in codes(ask(shelf.house), "warn")


def test_a_beneficial_pest_of_the_list_warns(house: House) -> None:
    Pest.objects.filter(pk=house.pest.pk).update(kind="beneficial")
    assert "species" in codes(ask(house), "warn")
    Pest.objects.filter(pk=house.pest.pk).update(kind="refer")
    assert "species" in codes(ask(house), "warn")
