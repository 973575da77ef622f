"""Twelve numbered devices of the bakery of the invented firm, and two rounds of them."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import TYPE_CHECKING
from uuid import uuid5

from scheduling.models import Visit
from scheduling.rules.visit_states import VisitKind, VisitState
from scheduling.services.booking import book_visit
from scheduling.services.demo.days import NEVER_TYPED_TWICE, at
from scheduling.services.device_rounds import check_at_stop
from scheduling.services.visits import end_visit
from sites.rules.devices.entries import NewCheck, NewDevices, Spot
from sites.rules.devices.words import DeviceKind, Outcome
from sites.selectors.devices import devices_of
from sites.selectors.pests import pest_ids_of
from sites.selectors.properties import properties_named
from sites.services.devices import add_devices

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.services.demo.firm import Firm
    from sites.models import Device, Property

PLACE = "9 Ferry Landing"
TECHNICIAN = "technician@demo.example"
PLACED = timedelta(days=60)
ROUNDS = (35, 7)
MOUSE = "House mouse"
DEVICES = (
    ("1-6", DeviceKind.FEED_MONITOR, "Outside, along the loading dock"),
    ("7-10", DeviceKind.MULTI_TRAP, "Flour store, behind the racks"),
    ("11-12", DeviceKind.GLUE_MONITOR, "Proofing room, under the sinks"),
)
# by round: what was found at a device that was not quiet; mice counted, quarters eaten
FOUND: tuple[dict[int, tuple[int, int | None]], ...] = (
    {2: (0, 1), 3: (0, 2), 7: (2, None), 8: (1, None)},
    {3: (0, 3), 8: (4, None)},
)
NOT_SEEN = ({12: (Outcome.NO_ACCESS, "Room locked.")}, {10: (Outcome.MISSING, "")})


def walk_the_rounds(*, firm: Firm, today: date) -> tuple[str, ...]:
    """Place the devices and walk two rounds; the second leaves two items open."""
    technician = firm.people[TECHNICIAN]
    place = properties_named(technician.branch_id, PLACE)[0]
    for numbers, kind, where in DEVICES:
        new = NewDevices(place.pk, numbers, kind, today - PLACED, Spot(where))
        add_devices(devices=new, by=firm.office, today=today)
    said = []
    for number, back in enumerate(ROUNDS):
        visit = _book(place, technician, today - timedelta(days=back), firm)
        said.append(_walk(visit, technician, number))
    return tuple(said)


def _book(place: Property, technician: Person, day: date, firm: Firm) -> Visit:
    return book_visit(
        property_id=place.pk,
        kind=VisitKind.MONITORING,
        technician_id=technician.pk,
        day=day,
        window_opens=time(8),
        window_closes=time(17),
        minutes=30,
        note="Round of the devices",
        by=firm.office,
        now=at(day - timedelta(days=1), time(16), firm),
    )


def _walk(visit: Visit, technician: Person, number: int) -> str:
    now = visit.starts_at or visit.window_opens_at
    mouse = pest_ids_of([[MOUSE]])[MOUSE]
    checks = [_check(one, visit, number, mouse) for one in devices_of(visit.property_id)]
    check_at_stop(visit_id=visit.pk, checks=checks, by=technician, now=now)
    done = now + timedelta(minutes=25)
    end_visit(visit_id=visit.pk, state=VisitState.DONE, by=technician, now=done)
    active = sum(one.outcome == Outcome.ACTIVITY for one in checks)
    return f"{visit.property.street}, {visit.day}: {len(checks)} devices, {active} active."


def _check(device: Device, visit: Visit, number: int, mouse: int) -> NewCheck:
    mice, eaten = FOUND[number].get(device.number, (0, None))
    quiet = Outcome.ACTIVITY if mice or eaten else Outcome.NO_ACTIVITY
    outcome, note = NOT_SEEN[number].get(device.number, (quiet, ""))
    return NewCheck(
        client_ref=uuid5(NEVER_TYPED_TWICE, f"check {visit.ref} {device.number}"),
        device_id=device.pk,
        outcome=outcome,
        counts=((mouse, mice),) if mice else (),
        eaten=eaten,
        note=note,
    )
