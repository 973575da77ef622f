"""The questions in SQL answer what the ORM answers, over records, corrections and moves."""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import product

import pytest
from django.db.models import Q

from accounts.permissions import Role
from tests.factories import (
    make_branch,
    make_customer,
    make_label,
    make_lot,
    make_person,
    make_property,
    make_record,
    make_window,
    make_zone,
)
from treatments.models import (
    LabelWithdrawal,
    PastDriver,
    ProductLot,
    ResidualWindow,
    StockMove,
    StockPlace,
    TreatedArea,
    WindowOverride,
)
from treatments.selectors.every_record import (
    WITHOUT_EFFECT,
    left_at,
    lots_ever_at,
    lots_on_truck,
    uses_put_down,
    vehicle_driven,
    windows_held,
)

AT = datetime(2026, 3, 1, 12, tzinfo=UTC)
DAYS = (date(2026, 1, 10), date(2026, 2, 10), date(2026, 3, 10))
pytestmark = [pytest.mark.engine, pytest.mark.django_db]


@pytest.fixture
def areas() -> list[TreatedArea]:
    """Three records of two zones; the second is corrected, the third of another property."""
    branch = make_branch()
    person, use = make_person([Role.TECHNICIAN], branch), make_label()
    zones = [make_zone(make_property(make_customer(branch))) for _ in range(2)]
    records = [
        make_record(zone, person, use, applied_on=day)
        for zone, day in zip([zones[0], zones[0], zones[1]], DAYS, strict=True)
    ]
    again = make_record(
        zones[0], person, use, applied_on=DAYS[1], entry="correction", corrects=records[1]
    )
    for record in (*records, again):
        make_window(record)
    first = ResidualWindow.objects.order_by("pk")[0]
    for day in DAYS[:2]:
        WindowOverride.objects.create(window=first, days=1, expires_on=day, reason="Rain.")
    return list(TreatedArea.objects.order_by("pk"))


def test_uses_at_a_property(areas: list[TreatedArea]) -> None:
    place = areas[0].zone.property_id
    for first, last in product(DAYS, DAYS):
        rows = TreatedArea.objects.filter(
            record__property=place, record__applied_on__range=(first, last)
        ).exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
        expected = rows.order_by("pk").values_list(
            "zone_id", "record__label_version__product_id", "record__applied_on", "area_mm2",
            "record__area_mm2", "record__product_ul", "record__product_mg", "record__pests",
            "record__method", "record__label_version__product__formulation", "record_id",
            "record__visit_ref", "record__label_use_id", "size", "size_unit",
            "record__product_amount", "record__product_unit", "record__finished_ul",
            "record__finished_amount", "record__finished_unit",
        )  # fmt: skip
        assert uses_put_down(place, first, last) == list(expected)
    assert len(uses_put_down(place, DAYS[0], DAYS[2])) == 2


def test_windows_of_zones(areas: list[TreatedArea]) -> None:
    zones = {area.zone_id for area in areas}
    rows = ResidualWindow.objects.exclude(
        treated_area__record__later_entries__entry__in=WITHOUT_EFFECT
    )
    expected = [
        (one.pk, one.zone_id, one.pest_group, one.treated_area_id, one.historic_id, one.applied_on,
         one.expires_on, one.override.expires_on if one.override else None)
        for one in rows.filter(zone__in=zones).order_by("applied_on", "pk")
    ]  # fmt: skip
    found = windows_held(zones)
    assert [tuple(row[:8]) for row in found] == expected
    assert [row[7] for row in found] == [DAYS[1], None, None]
    assert not any(row[8] for row in found)
    assert windows_held([]) == []


@pytest.fixture
def truck() -> StockPlace:
    """A truck with two lots of a label and one of another, each with its moves."""
    branch = make_branch()
    driver = make_person([Role.TECHNICIAN], branch)
    here = StockPlace.objects.create(branch=branch, kind="vehicle", name="1", technician=driver)
    shelf = StockPlace.objects.create(branch=branch, kind="store", name="Shelf")
    use = make_label()
    lots = [make_lot(use, branch=branch), make_lot(use, branch=branch), make_lot(branch=branch)]
    LabelWithdrawal.objects.create(
        label_version=use.label_version, not_to_be_used_after=DAYS[2], reason="Ended.", at=AT
    )
    for number, lot in enumerate(lots, 1):
        _move(lot, number * 100, to_place=shelf, kind="receive")
        _move(lot, 90, from_place=shelf, to_place=here)
    _move(lots[0], 90, from_place=here, to_place=shelf)
    _move(lots[1], 7, from_place=here, kind="dispose")
    return here


def _move(lot: ProductLot, ul: int, kind: str = "transfer", **places: StockPlace) -> StockMove:
    return StockMove.objects.create(
        lot=lot, kind=kind, amount="1", unit="fl_oz", ul=ul, at=AT, **places
    )


def test_what_is_left_at_a_place(truck: StockPlace) -> None:
    for place in StockPlace.objects.all():
        moves = StockMove.objects.filter(Q(to_place=place) | Q(from_place=place))
        expected: dict[int, int] = {}
        for move in moves:
            sign = (move.to_place_id == place.pk) - (move.from_place_id == place.pk)
            expected[move.lot_id] = expected.get(move.lot_id, 0) + sign * (move.ul or 0)
        assert left_at(None, place.pk) == left_at(list(expected), place.pk) == expected
    assert sorted(left_at(None, truck.pk).values()) == [0, 83, 90]
    assert left_at([], truck.pk) == {}


def test_lots_at_a_place_and_on_a_truck(truck: StockPlace) -> None:
    lots = list(ProductLot.objects.order_by("received_on", "pk"))
    label = lots[0].label_version_id
    assert lots_ever_at(truck.pk, label) == [
        lot.pk for lot in lots if lot.label_version_id == label
    ]
    assert [tuple(row) for row in lots_on_truck(truck.technician_id or 0)] == [
        (lot.pk, lot.lot_number, None, lot.label_version_id, date(2026, 1, 1),
         lot.label_version.product_id, until)
        for lot, until in zip(lots[1:], [DAYS[2], None], strict=True)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("hour", "driver"), [(11, "before"), (12, "before"), (13, "now"), (14, "now")]
)
def test_who_drove_the_truck(truck: StockPlace, hour: int, driver: str) -> None:
    handed = AT.replace(hour=13)
    people = {"now": truck.technician_id or 0, "before": make_person([], truck.branch).pk}
    StockPlace.objects.filter(pk=truck.pk).update(technician_since=handed)
    PastDriver.objects.create(place=truck, technician_id=people["before"], until=handed)
    found = {name: vehicle_driven(pk, AT.replace(hour=hour)) for name, pk in people.items()}
    assert found.pop(driver) == truck
    assert list(found.values()) == [None]
