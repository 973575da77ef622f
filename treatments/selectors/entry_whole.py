"""An entry as it is with changed facts, with every row it names, to be judged again."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.selectors.people import holder_of, people_for
from sites.rules.units import Amount
from treatments.models import ApplicationRecord, TreatedArea
from treatments.rules.applications import Application, Entered, TreatedSize, TreatedZone, Weather
from treatments.rules.corrections import Facts
from treatments.selectors.entries import amount_text, pest_keys
from treatments.selectors.notices import personal
from treatments.selectors.treated_runs import runs_of
from treatments.selectors.whole import Part, Whole, whole_application

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property


def entry_whole(before: ApplicationRecord, facts: Facts, place: Property) -> Whole:
    """What an entry says with these facts, read anew but for the sizes it keeps.

    A zone whose size is not changed stays as large as it was that day. What lies on the truck
    today is no fact of that day: lots are not judged again. Refused: what no record may say.
    """
    applicator = _applicator(facts)
    whole = whole_application(application_of(before, facts), place, applicator)
    kept = {area.zone_id: area for area in before.treated_areas.all()}
    parts = tuple(_part(part, kept.get(part.zone.pk)) for part in whole.parts)
    return replace(whole, parts=parts, aboard=())


def _applicator(facts: Facts) -> Person:
    key = facts["applicator"]
    found = people_for(None).filter(pk=key).first() if isinstance(key, int) else None
    if found is None:
        raise Refused("applicator", "There is no such person. Choose one.", field="applicator")
    return found


def _part(part: Part, area: TreatedArea | None) -> Part:
    """The part with the runs it had that day, which no correction of a size changes."""
    if area is None:
        return part
    return replace(_sized(part, area), runs=runs_of(area))


def _sized(part: Part, area: TreatedArea) -> Part:
    if area.area_mm2 == part.size.area_mm2:
        return part
    if amount_text(area.size, area.size_unit) != amount_text(part.size.size, part.size.unit):
        return part
    square = Amount(Decimal(area.area_mm2), "mm2")
    size = TreatedSize(area.size, area.size_unit, square, area.area_mm2, area.length_mm)
    return Part(part.zone, size)


def application_of(before: ApplicationRecord, facts: Facts) -> Application:
    """The entry as somebody would have written it down, under a reference of its own."""
    return Application(
        client_ref=uuid.uuid4(),
        property_id=before.property_id,
        applicator_id=_key(facts["applicator"]) or 0,
        zones=_zones(facts),
        method=str(facts["method"]),
        started_at=datetime.fromisoformat(str(facts["started_at"])),
        finished_at=datetime.fromisoformat(str(facts["finished_at"])),
        label_use_id=_key(facts["direction"]),
        pest_ids=pest_keys(facts),
        product_amount=_entered(facts["product_amount"]),
        finished_amount=_entered(facts["finished_amount"]),
        visit_ref=before.visit_ref,
        load_ref=before.load_ref,
        equipment=str(facts["equipment"]),
        weather=Weather(*(str(facts[name]) for name in WEATHER)),
        protective_equipment_confirmed=facts["protective_equipment_confirmed"] is True,
        device_time=before.device_time,
        device_skew_s=before.device_skew_s,
        sent_skew_s=before.sent_skew_s,
        answers=_answers(before),
        notes=str(facts["notes"]),
        participants=str(facts["participants"]),
        mixing_location=str(facts["mixing_location"]),
        location_detail=str(facts["location_detail"]),
        product_supplier=str(facts["product_supplier"]),
        customer_phone=str(facts["customer_phone"]),
        supervisor_id=_named_supervisor(before, facts),
    )


def _named_supervisor(before: ApplicationRecord, facts: Facts) -> int | None:
    """Who was named as supervisor stays so, unless another applicator takes the work."""
    if not before.supervisor_license_number or facts["applicator"] != before.applicator_id:
        return None
    return holder_of(before.supervisor_license_number, before.state)


WEATHER = ("wind_mph", "temperature_f", "weather_source", "wind_direction", "conditions")


def _key(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def _entered(value: object) -> Entered | None:
    text, _, unit = str(value or "").rpartition(" ")
    return Entered(text, unit) if text else None


def _zones(facts: Facts) -> tuple[TreatedZone, ...]:
    sizes = facts["zones"]
    named = sizes.items() if isinstance(sizes, dict) else ()
    return tuple(TreatedZone(int(key), _entered(size)) for key, size in named if size)


def _answers(before: ApplicationRecord) -> tuple[tuple[str, str], ...]:
    said = personal(before)
    return tuple((row.code, row.answer or said.get(row.code, "")) for row in before.answers.all())
