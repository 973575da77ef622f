"""The columns of a record: facts as they are on the day, kept whatever changes later."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sites.rules.units import Amount, canonical
from treatments.rules.applications import Application, digest_of
from treatments.rules.leaves import decimal_text
from treatments.rules.retention import FIRM_DEFAULT_YEARS, add_years
from treatments.selectors.safety_questions import written
from treatments.selectors.whole import Whole

if TYPE_CHECKING:
    from accounts.models import Person


def frozen_columns(whole: Whole, by: Person, now: datetime) -> dict[str, object]:
    """Every column of the record; kept seven years by the firm's default (house rule)."""
    application = whole.application
    return {
        "client_ref": application.client_ref,
        "client_digest": digest_of(application),
        **_place_columns(whole),
        **_license_columns(whole),
        **_label_columns(whole),
        **_amount_columns(whole),
        **_time_columns(application, now),
        "applicator": whole.applicator,
        "method": application.method,
        "pests": [pest.common_name for pest in whole.pests],
        "equipment": application.equipment,
        "visit_ref": application.visit_ref,
        "load_ref": application.load_ref,
        "wind_mph": application.weather.wind_mph,
        "temperature_f": application.weather.temperature_f,
        "weather_source": application.weather.source,
        "protective_equipment_confirmed": application.protective_equipment_confirmed,
        "applied_on": whole.on,
        "retain_until": add_years(whole.on, FIRM_DEFAULT_YEARS),
        "created_by": by,
        "created_at": now,
    }


def personal_values(whole: Whole) -> dict[str, str]:
    """What names a person: kept beside the record, in the leaf only as digests (DEVELOPERS.md)."""
    supervisor = whole.license.supervisor if whole.license else None
    values = {
        "customer_name": whole.place.customer.name,
        "billing_address": whole.place.customer.billing_address,
        "street": whole.place.street,
        "applicator_name": whole.applicator.full_name,
        "supervisor_name": supervisor.full_name if supervisor else "",
        "notes": whole.application.notes,
        **(written(whole, whole.use) if whole.use else {}),
    }
    return {field: value for field, value in values.items() if value}


def _place_columns(whole: Whole) -> dict[str, object]:
    place = whole.place
    return {
        "branch": place.branch,
        "branch_name": place.branch.name,
        "business_license_number": place.branch.business_license_number,
        "property": place,
        "city": place.city,
        "county": place.county,
        "state": place.state,
        "zip_code": place.zip_code,
    }


def _license_columns(whole: Whole) -> dict[str, object]:
    if whole.license is None:
        return {}
    supervisor = whole.supervisor_license
    return {
        "license_number": whole.license.number,
        "license_kind": whole.license.kind,
        "license_expires_on": whole.license.expires_on,
        "supervisor_license_number": supervisor.number if supervisor else "",
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
        "area_mm2": whole.area_mm2,
        "length_mm": whole.length_mm,
    }


def _as_typed(amount: Amount | None, entered: object) -> str:
    return str(getattr(entered, "text", "")).strip() if amount else ""


def _canonical(amount: Amount | None, kind: str) -> int | None:
    if amount is None or amount.kind != kind:
        return None
    return canonical(amount.value, amount.unit)


def _time_columns(application: Application, now: datetime) -> dict[str, object]:
    return {
        "started_at": application.started_at,
        "finished_at": application.finished_at,
        "device_time": application.device_time,
        "device_skew_s": application.device_skew_s,
        "received_at": now,
    }
