"""Placing, moving and removing devices; keeping checks whole, once, and what they open."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection
from django.http import Http404
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, OpenItem, Person
from sites.models import Device, DeviceCheck, DeviceRemoval, Property
from sites.rules.devices.entries import NewDevices, Spot
from sites.rules.devices.thresholds import Threshold
from sites.selectors.devices import device_map, device_rows
from sites.services.device_checks import keep_checks
from sites.services.devices import (
    add_devices,
    edit_device,
    remove_device,
    remove_threshold,
    set_threshold,
)
from tests.devices import NOON, make_device, make_devices, new_check
from tests.factories import TODAY, make_customer, make_pest, make_property, make_zone
from tests.refusing import refused

pytestmark = pytest.mark.django_db
BAIT = {"kind": "bait_station"}


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    return make_property(make_customer(branch_ohio), "9 Ferry Landing")


def new(place: Property, numbers: str = "1-3", **fields: Any) -> NewDevices:
    facts = {"kind": "trap", "placed_on": TODAY, "spot": Spot("Store room")} | fields
    return NewDevices(property_id=place.pk, numbers=numbers, **facts)


def add(place: Property, by: Person, *args: Any, **fields: Any) -> list[Device]:
    return add_devices(devices=new(place, *args, **fields), by=by, today=TODAY)


def keep(place: Property, by: Person, *checks: Any, now: Any = NOON) -> list[DeviceCheck]:
    return keep_checks(place=place, checks=checks, by=by, now=now)


def open_codes() -> list[str]:
    return sorted(OpenItem.objects.filter(closed_at=None).values_list("code", flat=True))


def test_several_at_once_each_with_its_number(place: Property, office: Person) -> None:
    zone = make_zone(place, "Dock")
    spot = Spot(" Along  the dock ", zone.pk, "North wall", 2500, holds="Demonstration R")
    made = add(place, office, "1-3, 9", spot=spot)
    assert [one.number for one in Device.objects.order_by("number")] == [1, 2, 3, 9]
    assert [one.turn for one in made] == [1, 2, 3, 9]
    row = device_rows(place)[0]
    assert (row.place, row.zone, row.plan) == ("Along the dock", "Dock", "North wall, 2.5 m along")
    assert device_map(place)[3] == (
        "9",
        "Mechanical trap",
        "Along the dock, Dock, North wall, 2.5 m along",
        "not checked yet",
    )


@pytest.mark.parametrize(
    ("numbers", "fields", "code", "field"),
    [
        ("1-10000", {}, "numbers", "numbers"),
        ("3, 7", {}, "numbers", "numbers"),
        ("4, 4", {}, "numbers", "numbers"),
        ("4", {"kind": "drone"}, "choice", "kind"),
        ("4", {"placed_on": TODAY + timedelta(days=1)}, "day", "placed_on"),
        ("4", {"spot": Spot("  ")}, "missing", "place"),
        ("4", {"spot": Spot("x" * 121)}, "long", "place"),
        ("4", {"spot": Spot("Dock", zone_id=2**40)}, "zone", "zone"),
        ("4", {"spot": Spot("Dock", x_mm=5, y_mm=2**40)}, "plan", "y_mm"),
    ],
)
def test_what_is_refused(
    place: Property,
    office: Person,
    numbers: str,
    fields: dict[str, Any],
    code: str,
    field: str,
) -> None:
    add(place, office, "1-3")
    with refused(code, field):
        add(place, office, numbers, **fields)
    assert Device.objects.count() == 3


def test_a_removed_device_keeps_its_number_and_is_not_checked(
    place: Property, office: Person, technician: Person
) -> None:
    device = add(place, office)[1]
    keep(place, technician, new_check(device, "missing"))
    assert open_codes() == ["device_missing"]
    gone = {"removed_on": TODAY, "reason": "lost", "note": "", "by": office, "today": TODAY}
    later = NOON + timedelta(hours=1)
    remove_device(device_id=device.pk, now=later, **gone)
    assert open_codes() == []
    with refused("removed"):
        remove_device(device_id=device.pk, now=later, **gone)
    with refused("removed"):
        edit_device(device_id=device.pk, spot=Spot("Dock"), by=office)
    with refused("numbers", "numbers"):
        add(place, office, "2")
    with refused("removed"):
        keep(place, technician, new_check(device), now=later)
    # what was seen before it went may still arrive
    seen = new_check(device, captured_at=NOON)
    assert keep(place, technician, seen, now=later)[0].received_at == later
    with pytest.raises(IntegrityError):
        DeviceRemoval.objects.filter(device=device).update(reason="moved")


@pytest.mark.parametrize("days", [-1, 1])
def test_it_is_removed_on_a_day_that_can_be(place: Property, office: Person, days: int) -> None:
    device = add(place, office)[0]
    with refused("day", "removed_on"):
        remove_device(
            device_id=device.pk,
            removed_on=TODAY + timedelta(days=days),
            reason="lost",
            note="",
            by=office,
            now=NOON,
            today=TODAY,
        )


def test_who_may_not(
    place: Property, technician: Person, office: Person, branch_penn: Branch
) -> None:
    with refused("not_permitted"):
        add(place, technician)
    far = make_device(make_property(make_customer(branch_penn)))
    with pytest.raises(Http404):
        edit_device(device_id=far.pk, spot=Spot("Dock"), by=office)


def test_a_check_is_kept_whole_once_and_never_changed(place: Property, technician: Person) -> None:
    device, mouse = make_device(place, **BAIT), make_pest("House mouse")
    sent = new_check(device, "activity", counts=((mouse.pk, 2),), eaten=1, is_damaged=True)
    row = keep(place, technician, sent)[0]
    assert keep(place, technician, sent) == [row]
    assert DeviceCheck.objects.count() == 1
    assert device_rows(place)[0].last == "Activity, 2 House mouse, bait eaten: 1/4, damaged"
    for other in ({"note": "Another."}, {"eaten": 2}, {"visit_ref": "v"}):
        with refused("reused_reference"):
            keep(place, technician, replace(sent, **other))
    with pytest.raises(IntegrityError):
        DeviceCheck.objects.filter(pk=row.pk).update(eaten=0)


def test_a_submission_is_kept_whole_or_not_at_all(
    place: Property, technician: Person, branch_penn: Branch
) -> None:
    first, second = make_devices(place, 2)
    far = make_device(make_property(make_customer(branch_penn)))
    with refused("device"):
        keep(place, technician, new_check(first), new_check(far))
    with refused("counts"):
        keep(place, technician, new_check(first), new_check(second, "activity", counts=((1, -4),)))
    with refused("pest"):
        keep(place, technician, new_check(first, "activity", counts=((2**40, 1),)))
    with refused("bait"):
        keep(place, technician, new_check(first, eaten=0))
    with refused("checks"):
        keep(place, technician)
    assert not DeviceCheck.objects.exists()


def test_forty_devices_take_as_many_queries_as_two(place: Property, technician: Person) -> None:
    devices, mouse = make_devices(place, 40), make_pest("House mouse")

    def queries(some: list[Device]) -> int:
        checks = [new_check(one, "activity", counts=((mouse.pk, 1),)) for one in some]
        with CaptureQueriesContext(connection) as caught:
            keep(place, technician, *checks)
        return len(caught)

    queries(devices[:1])  # what is read once and kept is read
    assert queries(devices[:2]) == queries(devices) <= 20


def test_a_threshold_opens_an_item_and_a_clean_check_closes_it(
    place: Property, technician: Person, office: Person
) -> None:
    device, mouse, ant = make_device(place, **BAIT), make_pest("House mouse"), make_pest("Ant")

    def found(number: int, hours: int, **more: Any) -> list[str]:
        outcome = "activity" if number else "no_activity"
        counts = ((mouse.pk, number),) if number else ()
        check = new_check(device, outcome, counts=counts, **more)
        keep(place, technician, check, now=NOON + timedelta(hours=hours))
        return open_codes()

    assert found(2, 0) == []
    assert found(3, 1) == ["device_over_threshold"]  # house rule
    item = OpenItem.objects.get(closed_at=None)
    assert "Device 1 (Wall 1) at 9 Ferry Landing" in item.sentence
    assert "3 House mouse, threshold 3" in item.sentence and "Nov 25, 2026" in item.sentence
    assert found(0, 2) == []
    set_threshold(property_id=place.pk, row=Threshold("bait_station", mouse.pk, 1), by=office)
    assert found(1, 3) == ["device_over_threshold"]
    set_threshold(property_id=place.pk, row=Threshold("bait_station", mouse.pk, 9), by=office)
    assert found(8, 4, eaten=1) == []
    assert found(8, 5, eaten=2) == ["device_over_threshold"]  # the bait by the house rule
    # nobody looked: what is open stays open
    keep(place, technician, new_check(device, "no_access"), now=NOON + timedelta(hours=6))
    assert open_codes() == ["device_over_threshold"]
    assert device_rows(place)[0].matters
    row = set_threshold(property_id=place.pk, row=Threshold("trap", ant.pk, 1), by=office)
    with pytest.raises(Http404):
        remove_threshold(threshold_id=row.pk + 1, by=office)
    remove_threshold(threshold_id=row.pk, by=office)


def test_a_late_arrival_is_not_the_newest(place: Property, technician: Person) -> None:
    device = make_device(place)
    keep(place, technician, new_check(device, captured_at=NOON), now=NOON)
    late = new_check(device, "missing", captured_at=NOON - timedelta(days=1))
    keep(place, technician, late, now=NOON + timedelta(hours=1))
    assert open_codes() == []
    damaged = new_check(device, is_damaged=True)
    keep(place, technician, damaged, now=NOON + timedelta(hours=2))
    assert open_codes() == ["device_damaged"]


def test_the_same_reference_at_another_property(place: Property, technician: Person) -> None:
    device = make_device(place)
    other = make_device(make_property(place.customer, "10 Ferry Landing"))
    sent = new_check(device, client_ref=uuid.uuid4())
    keep(place, technician, sent)
    with refused("reused_reference"):
        keep(other.property, technician, replace(sent, device_id=other.pk))
