"""Devices and what was found at them, made straight through the tables."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from sites.models import Device, DeviceCheck, Property
from sites.rules.devices.entries import NewCheck
from tests.factories import TODAY, make_person, make_pest

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


def make_device(place: Property, number: int = 1, **fields: Any) -> Device:
    """A mechanical trap that walks at its number."""
    return Device.objects.create(
        **{
            "property": place,
            "number": number,
            "kind": "trap",
            "place": f"Wall {number}",
            "turn": number,
            "placed_on": TODAY,
        }
        | fields
    )


def make_devices(place: Property, how_many: int, **fields: Any) -> list[Device]:
    """Devices 1 to so many of one kind."""
    return [make_device(place, number, **fields) for number in range(1, how_many + 1)]


def make_check(
    device: Device, by: Person | None = None, *, count: int = 0, **fields: Any
) -> DeviceCheck:
    """A check without activity, or with so many of an invented pest."""
    row = DeviceCheck.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "device": device,
            "outcome": "activity" if count else "no_activity",
            "captured_at": NOON,
            "received_at": NOON,
            "by": by or make_person(branch=device.property.branch),
        }
        | fields
    )
    if count:
        pest = make_pest()
        row.counts.create(pest=pest, name=pest.common_name, number=count)
    return row


@contextmanager
def said_no(code: str = "") -> Iterator[pytest.ExceptionInfo[Refused]]:
    """Expect a rule to refuse with a whole sentence, with this code where one is given."""
    with pytest.raises(Refused) as caught:
        yield caught
    assert code in ("", caught.value.code)
    assert caught.value.sentence.endswith(".") and len(caught.value.sentence.split()) > 3


def new_check(device: Device, outcome: str = "no_activity", **fields: Any) -> NewCheck:
    """A check about to be sent."""
    return NewCheck(
        client_ref=fields.pop("client_ref", None) or uuid.uuid4(),
        device_id=device.pk,
        outcome=outcome,
        **fields,
    )
