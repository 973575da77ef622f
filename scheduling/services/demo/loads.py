"""A tank of the invented firm that is mixed in the morning and still on board."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import uuid5

from scheduling.services.demo.days import NEVER_TYPED_TWICE, direction_of
from sites.rules.places import Place
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Mixing
from treatments.services.loads import mix_load

if TYPE_CHECKING:
    from scheduling.models import Visit
    from treatments.models import Load


def put_on_board(*, stop: Visit, now: datetime) -> Load:
    """A gallon for foundation walls, 5 % under the label's rate, for the stops after `stop`."""
    technician = stop.technician
    mixing = Mixing(
        client_ref=uuid5(NEVER_TYPED_TWICE, f"load of technician {technician.pk} on {stop.day}"),
        label_use_id=direction_of(Place.FOUNDATION_WALL, stop.day).pk,
        product=Entered("0.95", "fl_oz"),
        finished=Entered("1", "gal"),
        mixed_at=now,
        visit_ref=str(stop.ref),
        equipment="1-gal hand can, fan nozzle",
    )
    return mix_load(mixing=mixing, by=technician, now=now)
