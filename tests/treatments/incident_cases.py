"""Incidents for tests: a spill at the house, reported by who was there."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

from accounts.models import Person
from tests.treatments.conftest import NOW, House
from treatments.models import Incident, IncidentAddendum
from treatments.rules.applications import Entered
from treatments.rules.incidents import NewIncident, NewNotice
from treatments.services.incidents import give_notice, report_incident


def spill(house: House, **changes: Any) -> NewIncident:
    """Half a gallon of spray on the drive an hour ago."""
    return NewIncident(
        **{
            "client_ref": uuid.uuid4(),
            "kind": "spill",
            "happened_at": NOW - timedelta(hours=1),
            "what": "The hose came off beside the drive.",
            "property_id": house.place.pk,
            "whom": "Marta Ellwood saw it",
            "label_version_id": house.use.label_version_id,
            "amount": Entered("0.5", "gal"),
            "done": ("control", "contain"),
            "done_words": "Absorbed with litter.",
            "care": "none",
        }
        | changes
    )


def reported(house: House, **changes: Any) -> Incident:
    """That spill, reported by the technician."""
    return report_incident(incident=spill(house, **changes), by=house.technician, now=NOW)


def told(incident: Incident, by: Person, **changes: Any) -> IncidentAddendum:
    """The agency was told half an hour after the report."""
    notice = NewNotice(
        **{
            "client_ref": uuid.uuid4(),
            "agency": "Department of Agriculture",
            "given_at": NOW + timedelta(minutes=30),
            "given_by_id": by.pk,
            "reference": "2026-0815",
        }
        | changes
    )
    later = max(notice.given_at, NOW)
    return give_notice(incident_id=incident.pk, notice=notice, by=by, now=later)
