"""How far water is, as somebody measured it on the ground."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line
from accounts.services.audit import note_event
from sites.models import Property
from sites.selectors.properties import property_for

if TYPE_CHECKING:
    from accounts.models import Person

COLUMNS = ("water_distance_ft", "water_measured_by", "water_measured_on")
FARTHEST_FT = Decimal(10_000)


def measure_water(
    *,
    property_id: int,
    distance_ft: Decimal | None,
    measured_by: str,
    measured_on: date | None,
    by: Person | None,
    today: date,
) -> Property:
    """Keep the shortest way from treated ground to water, in feet, with who measured it and when.

    Without a distance the measurement is taken away. Refused: below zero or out of reach, nobody
    named, no day, a day to come; a property out of reach is Http404.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        place = property_for(by, property_id)
        if distance_ft is None:
            place.water_distance_ft, place.water_measured_on = None, None
            place.water_measured_by = ""
        else:
            place.water_distance_ft = _distance(distance_ft)
            place.water_measured_on = _day(measured_on, today)
            place.water_measured_by = line(
                measured_by, field="measured_by", label="Measured by", most=120
            )
        place.save(update_fields=COLUMNS)
        note_event(by=by, act="water_measured", thing=place)
    return place


@transaction.atomic
def measure_water_at_stop(
    *, place: Property, distance_ft: Decimal, by: Person, today: date
) -> Property:
    """Keep what a technician measured just now at a property they stand at.

    `place` is one the caller has authorized by its stop. Refused: below zero or out of reach.
    """
    require(by, Permission.WORK_STOPS)
    place.water_distance_ft = _distance(distance_ft)
    place.water_measured_by, place.water_measured_on = by.full_name, today
    place.save(update_fields=COLUMNS)
    note_event(by=by, act="water_measured", thing=place)
    return place


def _distance(feet: Decimal) -> Decimal:
    if not feet.is_finite() or not 0 <= feet <= FARTHEST_FT:
        sentence = "A distance to water lies between 0 and 10,000 ft. Measure it again."
        raise Refused("water", sentence, field="distance_ft")
    return feet.quantize(Decimal("0.1"), rounding="ROUND_DOWN")


def _day(measured_on: date | None, today: date) -> date:
    if measured_on is None:
        raise Refused("water", "Say on which day it was measured.", field="measured_on")
    if measured_on > today:
        sentence = "That day has not come yet. Put the day it was measured."
        raise Refused("water", sentence, field="measured_on")
    return measured_on
