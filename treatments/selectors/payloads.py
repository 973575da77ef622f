"""The content of a record's leaf, built from its rows: when recorded, and when verified.

A version names exactly the columns it covers, so that a later column leaves old leaves as they
are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from treatments.rules.leaves import canonical_bytes, instant, personal_digest

if TYPE_CHECKING:
    from treatments.models import ApplicationRecord

VERSION = 1
LINES = ("treated_areas__windows", "judgements", "personal_values")
RECORD_COLUMNS = (
    "client_ref",
    "client_digest",
    "entry",
    "corrects_id",
    "correction_reason",
    "approved_by_id",
    "branch_id",
    "branch_name",
    "business_license_number",
    "property_id",
    "city",
    "county",
    "state",
    "zip_code",
    "visit_ref",
    "load_ref",
    "applicator_id",
    "license_number",
    "license_kind",
    "license_expires_on",
    "supervisor_license_number",
    "label_version_id",
    "label_use_id",
    "product_name",
    "registration_kind",
    "registration_number",
    "ingredients",
    "is_restricted_use",
    "method",
    "pests",
    "equipment",
    "product_amount",
    "product_unit",
    "product_ul",
    "product_mg",
    "finished_amount",
    "finished_unit",
    "finished_ul",
    "mix_basis",
    "area_mm2",
    "length_mm",
    "applied_on",
    "started_at",
    "finished_at",
    "device_time",
    "device_skew_s",
    "received_at",
    "wind_mph",
    "temperature_f",
    "weather_source",
    "reentry_text",
    "reentry_until",
    "protective_equipment_confirmed",
    "profile_codes",
    "retain_until",
    "created_at",
    "created_by_id",
)
AREA_COLUMNS = (
    "zone_id",
    "zone_name",
    "place",
    "size",
    "size_unit",
    "area_mm2",
    "length_mm",
    "height_up_mm",
    "width_out_mm",
)
JUDGEMENT_COLUMNS = ("code", "severity", "sentence", "clause")
WINDOW_COLUMNS = (
    "zone_id",
    "pest_group",
    "claim_days",
    "days",
    "factors",
    "applied_on",
    "opens_on",
    "expires_on",
)


def record_payload(record: ApplicationRecord) -> dict[str, object]:
    """Everything the leaf of a record says: its columns, lines, judgements, windows, digests.

    Personal values stand there only as salted digests. Give a record with its lines prefetched
    when there are many.
    """
    areas = sorted(record.treated_areas.all(), key=lambda area: area.pk)
    windows = [window for area in areas for window in area.windows.all()]
    judgements = sorted(record.judgements.all(), key=lambda judgement: judgement.pk)
    return {
        "version": VERSION,
        "record": _columns(record, RECORD_COLUMNS),
        "areas": [_columns(area, AREA_COLUMNS) for area in areas],
        "judgements": [_columns(judgement, JUDGEMENT_COLUMNS) for judgement in judgements],
        "windows": [
            _columns(window, WINDOW_COLUMNS)
            for window in sorted(windows, key=lambda window: window.pk)
        ],
        "personal": personal_digests(record),
    }


def personal_digests(record: ApplicationRecord) -> dict[str, object]:
    """The salted digest of each personal value that is still kept."""
    return {
        row.field: personal_digest(row.field, row.value, bytes(row.salt))
        for row in record.personal_values.all()
    }


def leaf_bytes(
    *,
    seq: int,
    kind: str,
    record_id: int | None,
    actor_id: int | None,
    at: datetime,
    payload: Mapping[str, object],
) -> bytes:
    """The canonical bytes of one leaf (reference/regulations.md 6.1)."""
    return canonical_bytes(
        {
            "seq": seq,
            "event": kind,
            "record_id": record_id,
            "actor": actor_id,
            "at": instant(at),
            "payload": payload,
        }
    )


def _columns(row: object, names: Iterable[str]) -> dict[str, object]:
    return {name: _text(getattr(row, name)) for name in names}


def _text(value: Any) -> object:
    if isinstance(value, datetime):
        return instant(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value
