"""The columns of a record: facts as they are on the day, kept whatever changes later."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from sites.rules.units import Amount, canonical
from treatments.rules.applications import Application, digest_of
from treatments.rules.device_times import Written
from treatments.rules.leaves import decimal_text
from treatments.rules.profile_terms import Days, complete_by, kept_until
from treatments.rules.retention import FIRM_DEFAULT_YEARS
from treatments.selectors.profile_jobs import Followed, percent_applied
from treatments.selectors.record_words import rate_on
from treatments.selectors.rule_gaps import written_at
from treatments.selectors.safety_questions import written
from treatments.selectors.whole import Whole

if TYPE_CHECKING:
    from accounts.models import Branch, Person

PERCENT_STEP = Decimal("0.0001")


def frozen_columns(
    whole: Whole, followed: Followed, by: Person, now: datetime
) -> dict[str, object]:
    """Every column of the record, with the rules it follows as they are now."""
    application = whole.application
    when = written_at(application, now)
    return {
        "client_ref": application.client_ref,
        "client_digest": digest_of(application),
        **_place_columns(whole),
        **_license_columns(whole),
        **_label_columns(whole),
        **_amount_columns(whole),
        **_time_columns(application, when, now),
        "applicator": whole.applicator,
        "method": application.method,
        "work_kinds": list(application.work_kinds),
        "pests": [pest.common_name for pest in whole.pests],
        "equipment": application.equipment,
        "visit_ref": application.visit_ref,
        "load_ref": application.load_ref,
        "wind_mph": application.weather.wind_mph,
        "temperature_f": application.weather.temperature_f,
        "wind_direction": application.weather.wind_direction,
        "conditions": application.weather.conditions,
        "weather_source": application.weather.source,
        "product_supplier": application.product_supplier,
        "protective_equipment_confirmed": application.protective_equipment_confirmed,
        "applied_on": whole.on,
        **_rule_columns(whole, followed, now),
        "created_by": by,
        "created_at": now,
    }


def _rule_columns(whole: Whole, followed: Followed, now: datetime) -> dict[str, object]:
    """Which rules, how long and until when; at least seven years (firm's default, house rule)."""
    zone = ZoneInfo(whole.place.branch.time_zone)
    recorded_on = max(whole.on, now.astimezone(zone).date())
    retentions = [one.retention for one in followed.profiles]
    deadlines = [one.deadline for one in followed.profiles]
    finished_at = whole.application.finished_at.astimezone(zone)
    return {
        "profile_codes": [one.name for one in followed.profiles],
        "retain_until": kept_until(retentions, Days(whole.on, recorded_on), FIRM_DEFAULT_YEARS),
        "complete_by": complete_by(deadlines, finished_at),
    }


def personal_values(whole: Whole, phone: str = "") -> dict[str, str]:
    """What names a person: kept beside the record, in the leaf only as digests (DEVELOPERS.md)."""
    supervisor = _supervisor(whole)
    values = {
        "customer_name": whole.place.customer.name,
        "billing_address": whole.place.customer.billing_address,
        "street": whole.place.street,
        "applicator_name": whole.applicator.full_name,
        "supervisor_name": supervisor.full_name if supervisor else "",
        "customer_phone": phone,
        "participants": whole.application.participants,
        "mixing_location": whole.application.mixing_location,
        "location_detail": whole.application.location_detail,
        "work_done": whole.application.work_done.strip(),
        "notes": whole.application.notes,
        **(written(whole, whole.use) if whole.use else {}),
    }
    return {field: value for field, value in values.items() if value}


def _supervisor(whole: Whole) -> Person | None:
    """Who was named for this work, else who supervises by the license."""
    if whole.supervisor_license is not None:
        return whole.supervisor_license.person
    return whole.license.supervisor if whole.license else None


def _place_columns(whole: Whole) -> dict[str, object]:
    place = whole.place
    return {
        "branch": place.branch,
        "branch_name": place.branch.name,
        "business_address": _address(place.branch),
        "business_phone": place.branch.phone,
        "business_license_number": place.branch.business_license_number,
        "property": place,
        "city": place.city,
        "county": place.county,
        "state": place.state,
        "zip_code": place.zip_code,
    }


def _address(branch: Branch) -> str:
    street = ", ".join(part for part in (branch.street, branch.city) if part)
    return f"{street}, {branch.state} {branch.zip_code}".strip() if street else ""


def _license_columns(whole: Whole) -> dict[str, object]:
    if whole.license is None:
        return {}
    supervisor = whole.supervisor_license
    return {
        "license_number": whole.license.number,
        "license_kind": whole.license.kind,
        "license_expires_on": whole.license.expires_on,
        "supervisor_license_number": supervisor.number if supervisor else "",
        "supervisor_category": supervisor.categories if supervisor else "",
    }


def _label_columns(whole: Whole) -> dict[str, object]:
    use, product = whole.use, whole.product
    if use is None or product is None:
        return {}
    label = use.label_version
    return {
        "label_version": label,
        "label_use": use,
        "product_name": product.name,
        "registration_kind": product.registration_kind,
        "registration_number": product.registration_number,
        "ingredients": ingredients_text(whole),
        "is_restricted_use": product.is_restricted_use,
        "mix_basis": use.mix_basis if whole.finished_amount else "",
        "reentry_text": label.reentry_text,
        "reentry_until": _reentry_until(whole),
    }


def ingredients_text(whole: Whole) -> list[dict[str, str]]:
    """Name and percent by weight of each active ingredient."""
    if whole.product is None:
        return []
    return [
        {
            "name": one.ingredient.common_name,
            "percent": decimal_text(one.percent_by_weight),
        }
        for one in whole.product.ingredients.all()
    ]


def _reentry_until(whole: Whole) -> datetime | None:
    minutes = whole.use.label_version.reentry_minutes if whole.use else None
    if minutes is None:
        return None
    return whole.application.finished_at + timedelta(minutes=minutes)


def _amount_columns(whole: Whole) -> dict[str, object]:
    product, finished = whole.product_amount, whole.finished_amount
    as_entered = whole.application
    return {
        "product_amount": _as_typed(product, as_entered.product_amount),
        "product_unit": product.unit if product else "",
        "product_ul": _canonical(product, "volume"),
        "product_mg": _canonical(product, "mass"),
        "finished_amount": _as_typed(finished, as_entered.finished_amount),
        "finished_unit": finished.unit if finished else "",
        "finished_ul": _canonical(finished, "volume"),
        "rate_applied": _rate(whole),
        "percent_active": _percent(whole),
        "area_mm2": whole.area_mm2,
        "length_mm": whole.length_mm,
    }


def _rate(whole: Whole) -> str:
    amount = whole.product_amount
    if amount is None or amount.unit == "each":
        return ""
    return rate_on(amount, whole.area_mm2, whole.length_mm)


def _percent(whole: Whole) -> str:
    percent = percent_applied(whole)
    return "" if percent is None else decimal_text(percent.quantize(PERCENT_STEP))


def _as_typed(amount: Amount | None, entered: object) -> str:
    return str(getattr(entered, "text", "")).strip() if amount else ""


def _canonical(amount: Amount | None, kind: str) -> int | None:
    if amount is None or amount.kind != kind:
        return None
    return canonical(amount.value, amount.unit)


def _time_columns(application: Application, when: Written, now: datetime) -> dict[str, object]:
    return {
        "started_at": application.started_at,
        "finished_at": application.finished_at,
        "device_time": application.device_time,
        "device_skew_s": application.device_skew_s,
        "sent_skew_s": application.sent_skew_s,
        "completed_at": when.at if application.device_time else None,
        "received_at": now,
    }
