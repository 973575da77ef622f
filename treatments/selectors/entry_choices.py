"""What a correction may choose from: directions, people, pests and zones of that day."""

from __future__ import annotations

from dataclasses import dataclass

from accounts.selectors.people import technicians_of
from sites.selectors.pests import pests as all_pests
from sites.selectors.properties import zone_measure, zones_of
from treatments.models import ApplicationRecord
from treatments.selectors.entry_words import direction_words
from treatments.selectors.labels import directions_offered


@dataclass(frozen=True)
class EntryChoices:
    """Lists of keys and words; `zones` of key, name and unit."""

    directions: tuple[tuple[int, str], ...]
    people: tuple[tuple[int, str], ...]
    pests: tuple[tuple[str, str], ...]
    zones: tuple[tuple[int, str, str], ...]
    time_zone: str


def entry_choices(record: ApplicationRecord) -> EntryChoices:
    """The choices of one record, what it says itself always among them."""
    uses = {one.pk: one for one in directions_offered(record.applied_on)}
    if record.label_use is not None:
        uses.setdefault(record.label_use.pk, record.label_use)
    people = {one.pk: one.full_name for one in technicians_of(record.branch_id)}
    people.setdefault(record.applicator_id, record.applicator.full_name)
    names = dict.fromkeys([*(pest.common_name for pest in all_pests()), *record.pests])
    return EntryChoices(
        directions=tuple((key, direction_words(one)) for key, one in uses.items()),
        people=tuple(people.items()),
        pests=tuple((name, name) for name in names),
        zones=_zones(record),
        time_zone=record.branch.time_zone,
    )


def _zones(record: ApplicationRecord) -> tuple[tuple[int, str, str], ...]:
    treated = {
        area.zone_id: (area.zone_id, area.zone_name, area.size_unit)
        for area in record.treated_areas.all()
    }
    others = {
        zone.pk: (zone.pk, zone.name, zone_measure(zone).size.unit)
        for zone in zones_of(record.property_id)
    }
    return tuple((others | treated).values())
