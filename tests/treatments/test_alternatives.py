"""What is allowed instead, from the rows: the truck, the branch, the history, a lot's own label."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from sites.models import Pest
from tests.factories import make_label, make_pest, make_product, make_record, make_zone
from tests.treatments.conftest import House
from tests.treatments.stock_cases import Shelf, shelf
from tests.treatments.test_checks import ON, ask
from treatments.models import ActiveIngredient, LabelUse, ProductIngredient
from treatments.selectors.alternatives import Instead, instead_of, labels_at_hand
from treatments.selectors.labels import directions_in_force
from treatments.selectors.lots_aboard import lots_aboard

__all__ = ["shelf"]
pytestmark = pytest.mark.django_db


def other_product(name: str, group: str, pests: list[Pest], **use: Any) -> LabelUse:
    """A product of its own ingredient with one direction like the house's."""
    direction = make_label(make_product(name), pests=pests, use=use)
    ProductIngredient.objects.create(
        product=direction.label_version.product,
        ingredient=ActiveIngredient.objects.create(common_name=f"of {name}", irac_group=group),
        percent_by_weight=Decimal(1),
        pounds_per_gallon=Decimal("0.1"),
    )
    return direction


def refused(house: House, **changes: Any) -> Instead:
    """What is offered where the eave was chosen, which the house's direction does not name."""
    return instead_of(ask(house, **changes), directions_in_force(ON), Decimal(1))


def names(found: Instead) -> list[str]:
    return [one.use.label_version.product.name for one in found.products]


@pytest.fixture
def on_eaves(house: House) -> dict[str, Any]:
    """Choosing an eave: the direction of the house does not name it."""
    return {"zone_ids": [make_zone(house.place, "Eave", place="eave_soffit").pk]}


def test_without_a_truck_another_group_comes_first(house: House, on_eaves: dict[str, Any]) -> None:
    ActiveIngredient.objects.update(irac_group="3A")
    eaves = {"places": ["eave_soffit"]}
    other_product("Demonstration B EC", "3A", [house.pest], **eaves)
    other_product("Demonstration Z SC", "4A", [house.pest], **eaves)
    other_product("Demonstration C SC", "4A", [make_pest()], **eaves)  # another pest
    other_product("Demonstration D SC", "4A", [house.pest])  # another place
    found = refused(house, **on_eaves)
    assert names(found) == ["Demonstration Z SC", "Demonstration B EC"]
    assert not found.is_truck


def test_the_label_itself_may_allow_it(house: House, on_eaves: dict[str, Any]) -> None:
    eaves = LabelUse.objects.create(
        label_version=house.use.label_version,
        title="Eaves",
        places=["eave_soffit"],
        methods=["spot", "crack_crevice"],
        rate_max=Decimal(1),
        rate_unit="fl_oz",
        page="p. 5",
    )
    eaves.pests.set([house.pest])
    offered = [(one.use.pk, one.method) for one in refused(house, **on_eaves).of_label]
    assert offered == [(eaves.pk, "spot"), (eaves.pk, "crack_crevice")]


def test_only_what_is_on_the_truck(shelf: Shelf, on_eaves: dict[str, Any]) -> None:
    house, eaves = shelf.house, {"places": ["eave_soffit"]}
    carried = other_product("Demonstration B SC", "4A", [house.pest], **eaves)
    stored = other_product("Demonstration C SC", "4A", [house.pest], **eaves)
    run_out = other_product("Demonstration D SC", "4A", [house.pest], **eaves)
    for use, changes in (
        (carried, {}),
        (stored, {}),
        (run_out, {"expires_on": date(2026, 11, 24)}),
    ):
        lot = shelf.receive(label_version_id=use.label_version_id, **changes)
        if use != stored:
            shelf.load(lot, "8")
    found = refused(house, **on_eaves)
    assert names(found) == ["Demonstration B SC"]
    assert found.is_truck


def test_an_empty_truck_offers_no_product(shelf: Shelf, on_eaves: dict[str, Any]) -> None:
    other_product("Demonstration B SC", "4A", [shelf.house.pest], places=["eave_soffit"])
    assert refused(shelf.house, **on_eaves).products == ()


def test_a_lot_is_offered_by_its_own_label(shelf: Shelf, on_eaves: dict[str, Any]) -> None:
    """Judged by the label it came with until that is withdrawn."""
    house = shelf.house
    old = other_product("Demonstration B SC", "4A", [house.pest], places=["eave_soffit"])
    product = old.label_version.product
    make_label(product, pests=[house.pest], effective_on=date(2026, 6, 1))  # names no eave
    shelf.load(shelf.receive(label_version_id=old.label_version_id), "8")
    assert [one.use.pk for one in refused(house, **on_eaves).products] == [old.pk]
    aboard = lots_aboard(house.technician.pk)
    labels = labels_at_hand(house.technician, ON, aboard, is_truck=True)
    assert labels == {old.label_version_id}


def test_history_is_judged_for_the_other_product(house: House, on_eaves: dict[str, Any]) -> None:
    other = other_product("Demonstration B SC", "4A", [house.pest], places=["eave_soffit"])
    assert names(refused(house, **on_eaves)) == ["Demonstration B SC"]
    zone = house.place.zones.get(pk=on_eaves["zone_ids"][0])
    make_record(zone, house.technician, other, applied_on=date(2026, 11, 20))
    assert names(refused(house, **on_eaves)) == []  # 5 days ago, the label asks for 7


def test_what_the_license_refuses_nothing_replaces(house: House) -> None:
    house.technician.licenses.all().delete()
    other_product("Demonstration B SC", "4A", [house.pest])
    found = refused(house)
    assert (found.of_label, found.products) == ((), ())


def test_more_directions_ask_no_more_often(
    house: House, on_eaves: dict[str, Any], django_assert_num_queries: Callable[..., Any]
) -> None:
    other_product("Demonstration B SC", "4A", [house.pest], places=["eave_soffit"])
    answer, few = ask(house, **on_eaves), directions_in_force(ON)
    with CaptureQueriesContext(connection) as asked:
        instead_of(answer, few, Decimal(1))
    for number in range(20):
        other_product(f"Demonstration {number}", "4A", [house.pest], places=["eave_soffit"])
    many = directions_in_force(ON)
    with django_assert_num_queries(len(asked)):
        assert len(instead_of(answer, many, Decimal(1)).products) == 5
