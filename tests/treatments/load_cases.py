"""Loads for tests: mixed two hours ago, used by a record, ended."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from tests.treatments.conftest import NOW, House
from treatments.models import LabelLimit, Load, LoadRest
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Leftover, Mixing
from treatments.services.loads import mix_load, settle_load
from treatments.services.recording import Recorded, record_application

MIXED = NOW - timedelta(hours=2)


def mixing(house: House, **changes: Any) -> Mixing:
    """4 fl oz in 4 gal, two hours before now."""
    return Mixing(
        **{
            "client_ref": uuid.uuid4(),
            "label_use_id": house.use.pk,
            "product": Entered("4", "fl_oz"),
            "finished": Entered("4", "gal"),
            "mixed_at": MIXED,
            "equipment": "4-gal backpack",
        }
        | changes
    )


def mixed(house: House, **changes: Any) -> Load:
    return mix_load(mixing=mixing(house, **changes), by=house.technician, now=NOW)


def used(
    house: House, load: Load, gallons: str = "1.6", now: datetime = NOW, **changes: Any
) -> Recorded:
    """A record of the house that names the load; 1.6 gal on 1,600 sq ft unless said otherwise."""
    application = house.application(
        product_amount=None,
        finished_amount=Entered(gallons, "gal"),
        load_ref=load.ref,
        **changes,
    )
    return record_application(application=application, by=house.technician, now=now)


def settled(
    house: House, load: Load, kind: str, amount: str = "", now: datetime = NOW, **words: Any
) -> LoadRest:
    entered = Entered(amount, "gal") if amount else None
    leftover = Leftover(uuid.uuid4(), kind, entered, **words)
    return settle_load(load_id=load.pk, leftover=leftover, by=house.technician, now=now)


def hours(house: House, limit: int, severity: str = "refuse") -> None:
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="mixed_hours",
        comparison="at_most",
        limit=limit,
        severity=severity,
        sentence=f"Use within {limit} hours of mixing.",
        page="p. 6",
    )
