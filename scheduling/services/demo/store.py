"""The stores and trucks of the invented firm: deliveries, loads, sprayers, a count."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from scheduling.rules.demo import store as kept
from scheduling.rules.demo.people import PEOPLE
from scheduling.services.demo.firm import Firm
from sites.rules.units import Amount, from_canonical, plain
from treatments.rules.stock import PlaceKind
from treatments.rules.vehicles import Found, VehicleItem
from treatments.selectors.stock import labels_to_receive, lots_for, on_hand, vehicle_of
from treatments.services.equipment import add_calibration, add_equipment
from treatments.services.stock import adjust, receive_lot, transfer
from treatments.services.stock_places import add_place, set_reorder_level
from treatments.services.vehicles import check_vehicle

if TYPE_CHECKING:
    from accounts.models import Branch
    from treatments.models import LabelVersion, ProductLot, StockPlace

DELIVERED_BEFORE = timedelta(days=3)
A_DAY = timedelta(days=1)
SIX_DECIMALS = Decimal("0.000001")
Labels = dict[str, "LabelVersion"]


def fill_the_stores(*, firm: Firm, today: date, now: datetime) -> tuple[str, ...]:
    """A store a branch and a truck a technician, with lots, sprayers and levels; what was made."""
    labels = {label.product.name: label for label in labels_to_receive()}
    for branch in firm.branches.values():
        store, trucks = _places(branch, firm)
        for one in kept.LOTS:
            lot = _receive(one, labels, store, firm, today, now)
            _load(one, lot, store, trucks, firm, now)
        _levels(branch, labels, firm)
        _equipment(branch, firm, now)
    return (
        f"{len(firm.branches)} stores, {len(firm.technicians)} trucks, "
        f"{len(kept.LOTS)} lots a branch; each truck is loaded from its store.",
    )


def _places(branch: Branch, firm: Firm) -> tuple[StockPlace, list[StockPlace]]:
    crew = [one for one in firm.technicians if one.branch_id == branch.pk]
    everybody = [one.pk for one in firm.technicians]
    store = add_place(branch_id=branch.pk, kind=PlaceKind.STORE, name=kept.STORE, by=firm.manager)
    add_place(branch_id=branch.pk, kind=PlaceKind.RINSATE, name=kept.RINSATE, by=firm.manager)
    trucks = [
        add_place(
            branch_id=branch.pk,
            kind=PlaceKind.VEHICLE,
            name=f"Truck {everybody.index(person.pk) + 1}",
            plate=f"DEMO {everybody.index(person.pk) + 1:02d}",
            technician_id=person.pk,
            by=firm.manager,
        )
        for person in crew
    ]
    return store, trucks


def _receive(
    one: kept.DemoLot,
    labels: Labels,
    store: StockPlace,
    firm: Firm,
    today: date,
    now: datetime,
) -> ProductLot:
    return receive_lot(
        place_id=store.pk,
        label_version_id=labels[one.product].pk,
        lot_number=one.number,
        container_size=one.size,
        container_unit=one.unit,
        containers=one.containers,
        received_on=now.date() - DELIVERED_BEFORE,
        expires_on=None if one.expires_in is None else today + timedelta(days=one.expires_in),
        dealer=kept.DEALER,
        invoice=f"DEMO-{store.pk}-{one.number[5:]}",
        buyer=firm.manager.full_name,
        buyer_license=f"{store.branch.state} {PEOPLE[0].license_number[3:]}",
        by=firm.manager,
        now=now,
    )


def _load(
    one: kept.DemoLot,
    lot: ProductLot,
    store: StockPlace,
    trucks: list[StockPlace],
    firm: Firm,
    now: datetime,
) -> None:
    for truck in trucks if one.aboard else ():
        transfer(
            lot_id=lot.pk,
            from_place_id=store.pk,
            to_place_id=truck.pk,
            amount=one.aboard,
            unit=one.unit,
            by=firm.manager,
            now=now,
        )


def _levels(branch: Branch, labels: Labels, firm: Firm) -> None:
    for product, amount, unit in kept.REORDER:
        set_reorder_level(
            branch_id=branch.pk,
            label_version_id=labels[product].pk,
            amount=amount,
            unit=unit,
            by=firm.manager,
        )


def _equipment(branch: Branch, firm: Firm, now: datetime) -> None:
    for one in kept.EQUIPMENT:
        added = add_equipment(
            branch_id=branch.pk,
            name=one.name,
            kind=one.kind,
            tank=Amount(Decimal(one.tank_gal), "gal"),
            nozzle=one.nozzle,
            pressure_psi=Decimal(one.pressure_psi),
            by=firm.manager,
        )
        add_calibration(
            equipment_id=added.pk,
            measured_on=now.date() - A_DAY,
            measuring=one.measuring,
            caught=Decimal(one.caught),
            over=None if one.over is None else Decimal(one.over),
            nozzle=one.nozzle,
            pressure_psi=Decimal(one.pressure_psi),
            by=firm.manager,
            today=now.date(),
        )


def check_the_trucks(*, firm: Firm, now: datetime) -> tuple[str, ...]:
    """The weekly checks of the last fortnight: one overdue, one truck without its eyewash."""
    for number, person in enumerate(firm.technicians):
        truck = vehicle_of(person.pk)
        if truck is None:
            continue
        check_vehicle(
            vehicle_id=truck.pk,
            found=_found(is_missing=number == 1),
            by=person,
            now=now - timedelta(days=kept.CHECKED_DAYS_AGO[number]),
        )
    return (f"{len(firm.technicians)} vehicle checks; one overdue, one eyewash missing.",)


def _found(*, is_missing: bool) -> dict[VehicleItem, Found]:
    found = {item: Found(True) for item in VehicleItem}
    if is_missing:
        found[VehicleItem.EYEWASH] = Found(False, kept.MISSING_NOTE)
    return found


def count_a_truck(*, firm: Firm, now: datetime) -> tuple[str, ...]:
    """Count the first lot on the first truck and find a little less than the moves leave."""
    truck = vehicle_of(firm.technicians[0].pk)
    lot = next(one for one in lots_for(firm.manager) if one.lot_number == kept.LOTS[0].number)
    if truck is None:
        return ()
    left = on_hand([lot.pk], truck.pk)[lot.pk, truck.pk]
    counted = from_canonical(left, lot.container_unit) - Decimal(kept.COUNTED_LESS)
    adjust(
        lot_id=lot.pk,
        place_id=truck.pk,
        counted=plain(counted.quantize(SIX_DECIMALS)),
        unit=lot.container_unit,
        reason=kept.COUNT_REASON,
        by=firm.manager,
        now=now,
    )
    return (f"{lot} at {truck}: {kept.COUNTED_LESS} fl oz less than the moves leave.",)
