"""Writing devices: several at once, their place, their removal, and from when they are over."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.lines import line, one_of
from accounts.services.audit import close_items, note_event
from sites.models import Device, DeviceRemoval, DeviceThreshold, Pest, Property
from sites.rules.devices.entries import NewDevices, Spot, refuse_place_on_plan
from sites.rules.devices.numbers import refuse_taken, typed_numbers
from sites.rules.devices.thresholds import Threshold, refuse_threshold
from sites.rules.devices.words import KIND_WORDS, REMOVAL_WORDS
from sites.selectors.devices import device_for, numbers_of, threshold_for
from sites.selectors.properties import property_for, zones_of
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person

FARTHEST_MM = 10_000_000
OVER, MISSING, DAMAGED = "device_over_threshold", "device_missing", "device_damaged"
ITEM_CODES = (OVER, MISSING, DAMAGED)
PLAN_FIELDS = ("wall", "offset_mm", "x_mm", "y_mm")


def add_devices(*, devices: NewDevices, by: Person, today: date) -> list[Device]:
    """Place several devices of one kind at one spot in words; each walks at its number.

    Refused: numbers that are none, too many or used here before, an unknown kind, no place, a
    zone of another property, a day to come. A property out of reach is Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    numbers = typed_numbers(devices.numbers)
    kind = one_of(devices.kind, list(KIND_WORDS), field="kind", label="Kind")
    if devices.placed_on > today:
        raise Refused("day", "That day has not come yet.", field="placed_on")
    try:
        with transaction.atomic():
            place = property_for(by, devices.property_id)
            lock_property(place.pk)
            refuse_taken(numbers, numbers_of(place.pk))
            facts = _facts(devices.spot, place) | {"kind": kind, "placed_on": devices.placed_on}
            made = Device.objects.bulk_create(
                Device(property=place, number=number, created_by=by, **facts | {"turn": number})
                for number in numbers
            )
            note_event(by=by, act="devices_added", thing=place, kind=kind, numbers=list(numbers))
    except IntegrityError as failure:
        raise Refused(
            "numbers", "Somebody has just used one of these numbers. Open the page again.",
            field="numbers",
        ) from failure  # fmt: skip
    return made


def edit_device(*, device_id: int, spot: Spot, by: Person) -> Device:
    """Change where a device is and what it holds; its number and kind stay.

    Refused as in `add_devices`; a device that was removed.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        device = device_for(by, device_id)
        _refuse_removed(device)
        for name, value in _facts(spot, device.property).items():
            setattr(device, name, value)
        device.turn = spot.turn or device.number
        device.save()
        note_event(by=by, act="device_edited", thing=device, place=device.place)
    return device


def remove_device(
    *, device_id: int, removed_on: date, reason: str, note: str, by: Person, now: datetime,
    today: date,
) -> DeviceRemoval:  # fmt: skip
    """Take a device away, with the day and the reason; its open items close.

    Refused: one that was removed before, a day to come or before it was placed.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        lock_property(device_for(by, device_id).property_id)
        device = device_for(by, device_id)
        _refuse_removed(device)
        if not device.placed_on <= removed_on <= today:
            sentence = f"Put a day from {short_day(device.placed_on, True)} to today."
            raise Refused("day", sentence, field="removed_on")
        removal = DeviceRemoval.objects.create(
            device=device,
            removed_on=removed_on,
            reason=one_of(reason, list(REMOVAL_WORDS), field="reason", label="Reason"),
            note=line(note, field="note", label="Note", most=200, needed=False),
            at=now,
            by=by,
        )
        for code in ITEM_CODES:
            close_items(code=code, thing=device, note="The device was removed.", now=now)
        note_event(by=by, act="device_removed", thing=device, now=now, reason=removal.reason)
    return removal


def _refuse_removed(device: Device) -> None:
    removal = getattr(device, "removal", None)
    if removal is not None:
        since = short_day(removal.removed_on, True)
        raise Refused("removed", f"{device} was removed on {since}. Add a new one in its place.")


def _facts(spot: Spot, place: Property) -> dict[str, Any]:
    refuse_place_on_plan(spot)
    for name in ("offset_mm", "x_mm", "y_mm"):
        if abs(getattr(spot, name) or 0) > FARTHEST_MM:
            raise Refused("plan", "That is farther than any building: 10 km.", field=name)
    if spot.zone_id is not None and not zones_of(place.pk).filter(pk=spot.zone_id).exists():
        raise Refused("zone", "This zone is not one of this property.", field="zone")
    named = {name: getattr(spot, name) for name in ("offset_mm", "x_mm", "y_mm", "zone_id")}
    return named | {
        "place": line(spot.place, field="place", label="Place", most=120),
        "wall": line(spot.wall, field="wall", label="Wall", most=60, needed=False),
        "holds": line(spot.holds, field="holds", label="Product in it", most=120, needed=False),
    }


def set_threshold(*, property_id: int, row: Threshold, by: Person) -> DeviceThreshold:
    """Set from what devices of a kind are over at a property; what was set before is replaced.

    Refused: an unknown kind or pest, no limit, a limit of no sense.
    """
    require(by, Permission.EDIT_PROPERTIES)
    refuse_threshold(row)
    with transaction.atomic():
        place = property_for(by, property_id)
        pest = Pest.objects.filter(pk=row.pest_id or 0).first()
        if row.pest_id is not None and pest is None:
            raise Refused("pest", "Choose a pest from the list.", field="pest")
        stored, _ = DeviceThreshold.objects.update_or_create(
            property=place,
            kind=row.kind,
            pest=pest,
            defaults={"count_from": row.count_from, "eaten_from": row.eaten_from},
            create_defaults={
                "count_from": row.count_from,
                "eaten_from": row.eaten_from,
                "created_by": by,
            },
        )
        note_event(by=by, act="device_threshold_set", thing=place, kind=row.kind)
    return stored


def remove_threshold(*, threshold_id: int, by: Person) -> None:
    """Go back to the house rule for a kind."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        row = threshold_for(by, threshold_id)
        note_event(by=by, act="device_threshold_removed", thing=row.property, kind=row.kind)
        row.delete()
