"""One stop of today with a due band of 600 sq ft, and a technician with a phone in front of it."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from accounts.models import Branch, Person
from scheduling.models import Renewal, Visit
from scheduling.rules.visit_states import RenewalState
from sites.models import TreatableZone
from tests.factories import client_for, make_label, make_visit
from tests.scheduling.views.rows import due_place
from treatments.models import LabelUse

NOW = "2026-11-25T15:00:00Z"  # ten in the morning in Columbus
TYPED = {
    "product_amount": "0.48",
    "product_unit": "fl_oz",
    "finished_amount": "0.6",
    "finished_unit": "gal",
    "started": "09:30",
    "finished": "09:54",
    "wind_mph": "4",
    "temperature_f": "61",
    "weather_source": "hand meter",
    "equipment": "1-gal hand can",
    "protective_equipment": "on",
    "notes": "Left the north side: wet.",
    "ending": "finish",
}


@dataclass(frozen=True)
class Stop:
    """A booked visit, the zone due there, a direction that fits it, the technician's client."""

    visit: Visit
    renewal: Renewal
    zone: TreatableZone
    use: LabelUse
    client: Client

    @property
    def path(self) -> str:
        return f"/stops/{self.visit.pk}/"

    @property
    def choice(self) -> str:
        return f"?zone={self.zone.pk}&use={self.use.pk}&tank=1"

    def mix(self, choice: str = "") -> HttpResponse:
        return self.client.get(f"{self.path}mix/{choice or self.choice}")

    def send(self, choice: str = "", client: Client | None = None, **typed: Any) -> HttpResponse:
        """Post the record as typed; a fresh reference unless one is given."""
        form = TYPED | {"client_ref": str(uuid.uuid4())} | typed
        return (client or self.client).post(f"{self.path}record/{choice or self.choice}", form)


@pytest.fixture(autouse=True)
def _ten_in_the_morning() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def stop(branch_ohio: Branch, technician: Person) -> Stop:
    """The stop of `technician` today; its renewal is booked."""
    renewal = due_place(branch_ohio, technician, zones=1, state=RenewalState.BOOKED)
    visit = make_visit(renewal.property, technician, renewal=renewal)
    zone = renewal.property.zones.get()
    return Stop(visit, renewal, zone, make_label(), client_for(technician))
