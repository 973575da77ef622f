"""The history of a record: every entry of it, and what the one in force says field by field."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from django.db.models import prefetch_related_objects

from accounts.refusals import Refused
from sites.selectors.pests import pests as all_pests
from treatments.models import ApplicationRecord
from treatments.rules.corrections import FIELD_WORDS, Facts, Value, is_empty
from treatments.rules.effective import EntryKind, Link, chain_of
from treatments.rules.leaves import instant
from treatments.selectors.notices import personal

if TYPE_CHECKING:
    from datetime import datetime

PERSONAL_FACTS = ("participants", "location_detail", "mixing_location", "customer_phone", "notes")


ENTRY_NAMES = ("branch", "created_by", "approved_by", "applicator", "label_use__label_version")
ENTRY_LINES = ("treated_areas__runs", "personal_values", "answers", "judgements")


def entries_of(record: ApplicationRecord) -> list[ApplicationRecord]:
    """Every entry of the record's history, the first one first, each read anew with its lines."""
    keys = [link.key for link in chain_of(_links(record), record.pk)]
    found = _entries(keys)
    return [found[key] for key in keys]


def entries_beside(record: ApplicationRecord) -> list[ApplicationRecord]:
    """The same for a page that has just read the record itself: it is one of them."""
    keys = [link.key for link in chain_of(_links(record), record.pk)]
    found = _entries([key for key in keys if key != record.pk]) | {record.pk: record}
    prefetch_related_objects([record], *ENTRY_LINES)
    return [found[key] for key in keys]


def _entries(keys: Collection[int]) -> dict[int, ApplicationRecord]:
    rows = ApplicationRecord.objects.select_related(*ENTRY_NAMES).prefetch_related(*ENTRY_LINES)
    return rows.in_bulk(keys)


def _links(record: ApplicationRecord) -> list[Link]:
    """The record and every later entry at its property: a history never leaves its property."""
    later = ApplicationRecord.objects.filter(
        property_id=record.property_id, corrects__isnull=False
    ).values_list("pk", "entry", "corrects_id", "corrects__entry", "corrects__corrects_id")
    links = {record.pk: Link(record.pk, EntryKind(record.entry), record.corrects_id)}
    for pk, entry, corrects_id, first, before in later:
        links[pk] = Link(pk, EntryKind(entry), corrects_id)
        links[corrects_id] = Link(corrects_id, EntryKind(first), before)
    return list(links.values())


def last_entry(record: ApplicationRecord) -> ApplicationRecord:
    """The last entry of the record's history, also a void."""
    return entries_of(record)[-1]


def facts_of(record: ApplicationRecord) -> dict[str, Value]:
    """What an entry says, field by field, as plain JSON values."""
    said = personal(record)
    return {
        "started_at": instant(record.started_at),
        "finished_at": instant(record.finished_at),
        "applicator": record.applicator_id,
        "direction": record.label_use_id,
        "method": record.method,
        "pests": sorted(record.pests),
        "zones": {
            str(area.zone_id): amount_text(area.size, area.size_unit)
            for area in record.treated_areas.all()
        },
        "product_amount": amount_text(record.product_amount, record.product_unit),
        "finished_amount": amount_text(record.finished_amount, record.finished_unit),
        "equipment": record.equipment,
        "wind_mph": record.wind_mph,
        "wind_direction": record.wind_direction,
        "temperature_f": record.temperature_f,
        "conditions": record.conditions,
        "weather_source": record.weather_source,
        "protective_equipment_confirmed": record.protective_equipment_confirmed,
        "product_supplier": record.product_supplier,
        **{name: said.get(name, "") for name in PERSONAL_FACTS},
    }


def amount_text(amount: str, unit: str) -> str:
    """1.6 fl_oz; empty without an amount."""
    return f"{amount.strip()} {unit}" if amount.strip() else ""


def pest_keys(facts: Facts) -> tuple[int, ...]:
    """The keys of the pests a record names; refused when one is not on the list any more."""
    named = facts["pests"]
    names = named if isinstance(named, list) else []
    known = {pest.common_name: pest.pk for pest in all_pests()} if names else {}
    for name in names:
        if name not in known:
            raise Refused(
                "pests", f"{name} is not on the list of pests any more. Choose.", field="pests"
            )
    return tuple(known[name] for name in names)


def said_at(record: ApplicationRecord) -> datetime:
    """When an entry was made: a record when it arrived, what follows when it was stored."""
    return record.received_at if record.entry == EntryKind.RECORD else record.created_at


def written_down_at(record: ApplicationRecord) -> datetime:
    """When an entry was written: a record by the corrected clock of its device, if it said so."""
    if record.entry == EntryKind.RECORD and record.completed_at is not None:
        return record.completed_at
    return said_at(record)


def gaps_in(facts: Facts) -> tuple[str, ...]:
    """The fields that have no value yet."""
    return tuple(name for name in FIELD_WORDS if name in facts and is_empty(facts[name]))
