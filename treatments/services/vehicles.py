"""Recording what was found aboard a vehicle."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, allows, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event, open_item
from treatments.models import StockPlace, VehicleCheck, VehicleCheckItem
from treatments.rules.stock import PlaceKind
from treatments.rules.vehicles import ITEM_WORDS, Found, VehicleItem, refuse_half_check

if TYPE_CHECKING:
    from accounts.models import Person

MISSING = "vehicle_item_missing"


@transaction.atomic
def check_vehicle(
    *, vehicle_id: int, found: Mapping[VehicleItem, Found], by: Person, now: datetime
) -> VehicleCheck:
    """Record one check of every item; a missing one opens an item, a present one closes it.

    Refused: what is no vehicle, a vehicle somebody else drives (a manager may check any), an item
    left out, a missing one without a note.
    """
    require(by, Permission.CHECK_VEHICLES)
    vehicle = _vehicle(vehicle_id, by)
    refuse_half_check(found)
    checked_on = now.astimezone(ZoneInfo(vehicle.branch.time_zone)).date()
    check = VehicleCheck.objects.create(
        vehicle=vehicle, checked_at=now, checked_on=checked_on, created_by=by
    )
    VehicleCheckItem.objects.bulk_create(
        VehicleCheckItem(
            vehicle_check=check,
            item=item,
            is_present=found[item].is_present,
            note=found[item].note.strip(),
        )
        for item in VehicleItem
    )
    for item in VehicleItem:
        _follow_up(vehicle, item, found[item], by, now)
    note_event(by=by, act="check_vehicle", thing=check, now=now, vehicle=vehicle.pk)
    return check


def _vehicle(vehicle_id: int, by: Person) -> StockPlace:
    vehicle = StockPlace.objects.select_related("branch").filter(pk=vehicle_id).first()
    if vehicle is None or vehicle.kind != PlaceKind.VEHICLE:
        raise Refused("vehicle", "There is no such vehicle. Choose one of the list.")
    if vehicle.technician_id != by.pk and not allows(by, Permission.EDIT_STOCK):
        sentence = f"{vehicle} is not yours to check. Check the vehicle you drive."
        raise Refused("vehicle", sentence)
    return vehicle


def _follow_up(
    vehicle: StockPlace, item: VehicleItem, found: Found, by: Person, now: datetime
) -> None:
    thing = f"place:{vehicle.pk} item:{item.value}"
    if found.is_present:
        note = f"Found aboard by {by.full_name}."
        close_items(code=MISSING, thing=thing, note=note, now=now)
        return
    open_item(
        branch_id=vehicle.branch_id,
        code=MISSING,
        thing=thing,
        sentence=f"{ITEM_WORDS[item]} is missing on {vehicle}: {found.note.strip()} "
        "The next check that finds it aboard closes this.",
    )
