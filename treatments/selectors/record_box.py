"""What a record says, item by item, as the rules it follows ask for it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import Q

from accounts.rules.day_words import clock, short_day
from accounts.rules.phones import readable
from sites.rules.places import PLACE_WORDS, Place
from sites.rules.units import Amount, air_words, group, plain, unit_word, wind_words
from treatments.rules.dilutions import LB_WATER_PER_GAL
from treatments.rules.predicates import Fact, Job
from treatments.rules.products import Method, RateBasis, RegistrationKind
from treatments.rules.profile_words import Item, Reach
from treatments.rules.state_box import BoxLine, box, order_of
from treatments.selectors.notices import ingredients_words, license_words
from treatments.selectors.profile_jobs import NO_NUMBER, reach_of, where_of
from treatments.selectors.profiles import as_profile, profile_rows
from treatments.selectors.record_words import address_of, area_words, as_entered, how_of

if TYPE_CHECKING:
    from treatments.models import ApplicationRecord, TreatedArea

Said = Mapping[str, str]


def record_box(record: ApplicationRecord, said: Said) -> tuple[BoxLine, ...]:
    """Every item of a record in the order of its state; one query.

    `said` are its personal values. The rules are those that were frozen with the record.
    """
    names = Q(pk=None)
    for name in record.profile_codes:
        code, _, version = name.rpartition("/")
        names |= Q(code=code, version=version)
    rows = list(profile_rows().filter(names).order_by("code"))
    orders = {Reach(row.reach): row.order for row in reversed(rows) if row.order}
    profiles = [as_profile(row) for row in rows]
    return box(_values(record, said), profiles, order_of(orders), job_of(record))


def job_of(record: ApplicationRecord) -> Job:
    """The job of a record as the rules ask about it, from what was frozen."""
    if record.label_use is None or record.label_version is None:
        return Job()
    kind = record.registration_kind
    areas = record.treated_areas.all()
    facts: dict[Fact, bool | None] = {
        Fact.IS_RUP: record.is_restricted_use,
        Fact.REGISTERED: kind not in NO_NUMBER,
        Fact.DILUTED: bool(record.finished_amount),
        Fact.LABEL_RATE_PER_AREA: record.label_use.rate_basis == RateBasis.AREA,
        Fact.LABEL_HAS_REENTRY_INTERVAL: record.label_version.reentry_minutes is not None,
        Fact.BAIT_STATION: record.method == Method.BAIT,
        Fact.DEVICE: kind == RegistrationKind.DEVICE,
        Fact.APPLICATOR_NONCERTIFIED: record.license_kind != "certified",
        Fact.FUMIGATION: False,
        Fact.AGRICULTURAL: False,
        **where_of({Place(area.place) for area in areas}),
    }
    reached = [reach_of(Place(area.place), _feet(area.width_out_mm)) for area in areas]
    known = [one for one in reached if one is not None]
    distance = max(known) if known and len(known) == len(reached) else None
    return Job({fact: yes for fact, yes in facts.items() if yes is not None}, distance_ft=distance)


def _feet(mm: int) -> Decimal:
    return Amount(Decimal(mm), "mm").to("ft").value


def _values(record: ApplicationRecord, said: Said) -> dict[Item, str]:
    return {
        **_who_and_where(record, said),
        **_product(record),
        **_work(record, said),
        **_people(record, said),
    }


def _who_and_where(record: ApplicationRecord, said: Said) -> dict[Item, str]:
    firm = (record.branch_name, record.business_address, readable(record.business_phone))
    return {
        Item.BUSINESS_LICENSE: record.business_license_number,
        Item.BUSINESS_ADDRESS: ", ".join(part for part in firm if part)
        if record.business_address
        else "",
        Item.CUSTOMER_NAME: said.get("customer_name", ""),
        Item.CUSTOMER_ADDRESS: said.get("billing_address", ""),
        Item.CUSTOMER_PHONE: readable(said.get("customer_phone", "")),
        Item.SERVICE_ADDRESS: address_of(record, said["street"]) if said.get("street") else "",
        Item.ZIP_CODE: record.zip_code,
        Item.MUNICIPALITY: record.city,
        Item.COUNTY: record.county,
        Item.LOCATION_DETAIL: said.get("location_detail", ""),
    }


def _product(record: ApplicationRecord) -> dict[Item, str]:
    finished = as_entered(record.finished_amount, record.finished_unit)
    percent = f"{record.percent_active} %" if record.percent_active else ""
    return {
        Item.PRODUCT_NAME: record.product_name,
        Item.REGISTRATION_NUMBER: record.registration_number,
        Item.ACTIVE_INGREDIENT: ingredients_words(record),
        Item.PRODUCT_AMOUNT: as_entered(record.product_amount, record.product_unit),
        Item.ACTIVE_AMOUNT: _active_amount(record),
        Item.FINISHED_AMOUNT: finished,
        Item.DILUTION: _mix_ratio(record),
        Item.PERCENT_ACTIVE: percent,
        Item.APPLICATION_RATE: record.rate_applied,
        Item.REENTRY: record.reentry_text,
        Item.PRODUCT_SUPPLIER: record.product_supplier,
    }


def _mix_ratio(record: ApplicationRecord) -> str:
    """1.6 fl oz in 1.6 gal, 1 in 128; a product used as it is sold says so."""
    product = as_entered(record.product_amount, record.product_unit)
    if not product:
        return ""
    if not record.finished_amount:
        return "none, used as it is sold"
    words = f"{product} in {as_entered(record.finished_amount, record.finished_unit)}"
    if not record.product_ul or not record.finished_ul:
        return words
    return f"{words}, 1 in {group(Decimal(record.finished_ul) / record.product_ul, 1)}"


def _active_amount(record: ApplicationRecord) -> str:
    """Pounds of active ingredient, from the frozen percent; empty where that needs a density."""
    if not record.percent_active:
        return ""
    percent = Decimal(record.percent_active) / 100
    if record.finished_ul:
        gallons = Amount(Decimal(record.finished_ul), "uL").to("gal").value
        return f"{group(gallons * LB_WATER_PER_GAL * percent, 5)} lb"
    if record.product_mg:
        return f"{group(Amount(Decimal(record.product_mg), 'mg').to('lb').value * percent, 5)} lb"
    return ""


def _work(record: ApplicationRecord, said: Said) -> dict[Item, str]:
    zone, areas = ZoneInfo(record.branch.time_zone), record.treated_areas.all()
    system = record.branch.units
    wind, air = record.wind_mph, record.temperature_f
    how = (how_of(record), record.equipment)
    return {
        Item.APPLICATION_DATE: short_day(record.applied_on, True),
        Item.START_TIME: clock(record.started_at.astimezone(zone)),
        Item.END_TIME: clock(record.finished_at.astimezone(zone)),
        Item.AREA_TREATED: area_words(record.area_mm2) or "; ".join(map(_size, areas)),
        Item.SITE_TREATED: "; ".join(
            f"{area.zone_name} ({PLACE_WORDS[Place(area.place)].lower()})" for area in areas
        ),
        Item.TARGET_PEST: ", ".join(record.pests),
        Item.METHOD_EQUIPMENT: "; ".join(part for part in how if part),
        Item.WIND_SPEED: wind_words(Decimal(wind), system) if wind else "",
        Item.WIND_DIRECTION: record.wind_direction,
        Item.AIR_TEMPERATURE: air_words(Decimal(air), system) if air else "",
        Item.CONDITIONS: record.conditions,
        Item.MIXING_LOCATION: said.get("mixing_location", ""),
    }


def _size(area: TreatedArea) -> str:
    return f"{plain(Decimal(area.size))} {unit_word(area.size_unit)}"


def _people(record: ApplicationRecord, said: Said) -> dict[Item, str]:
    license = (license_words(record.license_kind), record.license_number)
    return {
        Item.APPLICATOR_NAME: said.get("applicator_name", ""),
        Item.APPLICATOR_LICENSE: ", ".join(license) if record.license_number else "",
        Item.SUPERVISOR: _supervisor(record, said),
        Item.PARTICIPANTS: said.get("participants", ""),
    }


def _supervisor(record: ApplicationRecord, said: Said) -> str:
    if not record.supervisor_license_number:
        is_certified = record.license_kind == "certified"
        return "the applicator is certified" if is_certified else ""
    category = record.supervisor_category
    number = f"certificate {record.supervisor_license_number}"
    parts = (said.get("supervisor_name", ""), number, category and f"category {category}")
    return ", ".join(part for part in parts if part)
