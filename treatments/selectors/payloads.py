"""The content of a record's leaf, built from its rows: when recorded, and when verified.

A version names exactly the columns it covers, so that a later column leaves old leaves as they
are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any
from uuid import UUID

from django.db.models import Exists, F, Model, OuterRef, QuerySet

from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    RecordPersonalValue,
    ResidualWindow,
    SafetyAnswer,
    TreatedArea,
    TreatedRun,
)
from treatments.rules.leaves import canonical_bytes, instant, kept_digest, personal_digest

VERSION, LATER_VERSION = 1, 2
Payload = dict[str, Any]
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
# since version 2; a record that fills none of them has a leaf of version 1, as before
LATER_COLUMNS = (
    "business_address",
    "business_phone",
    "rate_applied",
    "percent_active",
    "product_supplier",
    "wind_direction",
    "conditions",
    "complete_by",
)
EVERY_COLUMN = (*RECORD_COLUMNS, *LATER_COLUMNS)
ONLY_WHEN_TRUE = "is_one_person_firm"
# columns that stand in a leaf only where they say something, as every leaf before them
ONLY_WHEN_FILLED = ("work_kinds", "supervisor_category", "sent_skew_s", "completed_at")
WHOLE_RECORD = (*EVERY_COLUMN, *ONLY_WHEN_FILLED, ONLY_WHEN_TRUE)
EMPTY: tuple[object, ...] = (None, "", [])  # a skew of nought seconds was measured
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
HAS_RUNS = "has_runs"
_ANY_RUN = Exists(TreatedRun.objects.filter(area=OuterRef("pk")))
OWN_OF_RUN = ("name", "length", "unit", "length_mm", "reason")
RUN_COLUMNS = ("zone_id", *OWN_OF_RUN)
JUDGEMENT_COLUMNS = ("code", "severity", "sentence", "clause")
ANSWER_COLUMNS = ("code", "words", "answer", "clause")
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


@dataclass(frozen=True)
class Lines:
    """Every row that was stored with a record, each kind in the order of its keys."""

    areas: Sequence[TreatedArea] = ()
    runs: Sequence[TreatedRun] = ()
    judgements: Sequence[ApplicationJudgement] = ()
    windows: Sequence[ResidualWindow] = ()
    personal: Sequence[RecordPersonalValue] = ()
    answers: Sequence[SafetyAnswer] = ()


def payloads_of(record_ids: Collection[int]) -> dict[int, Payload]:
    """What the leaf of each record says, read from its rows in six queries, runs in one more.

    Its columns, lines, judgements, windows in the order of their keys; personal values stand
    there only as salted digests of what is still kept. A record that is not there is left out.
    """
    named = {"record__in": record_ids}
    rows = ApplicationRecord.objects.filter(pk__in=record_ids)
    records = _rows(rows, "pk", WHOLE_RECORD)
    with_runs = TreatedArea.objects.filter(**named).annotate(**{HAS_RUNS: _ANY_RUN})
    areas = _rows(with_runs, "record_id", (*AREA_COLUMNS, HAS_RUNS))
    said = _rows(ApplicationJudgement.objects.filter(**named), "record_id", JUDGEMENT_COLUMNS)
    opened = ResidualWindow.objects.filter(treated_area__record__in=record_ids)
    windows = _rows(opened, "treated_area__record_id", WINDOW_COLUMNS)
    runs = _runs(record_ids) if _have_runs(areas) else {}
    digests = _personal_digests(record_ids)
    answers = _rows(SafetyAnswer.objects.filter(**named), "record_id", ANSWER_COLUMNS)
    return {
        record_id: _assembled(
            record,
            areas=areas[record_id],
            runs=runs.get(record_id, []),
            judgements=said[record_id],
            windows=windows[record_id],
            personal=digests[record_id],
            answers=answers[record_id],
        )
        for record_id, (record,) in records.items()
    }


def payload_of(record: ApplicationRecord, lines: Lines) -> Payload:
    """What the leaf of a record says that was stored just now; nothing is read.

    The same as `payloads_of` reads back, as long as the lines are all that was stored.
    """
    return _assembled(
        _values(record, WHOLE_RECORD),
        areas=[_values(row, AREA_COLUMNS) for row in lines.areas],
        runs=[{"zone_id": row.area.zone_id, **_values(row, OWN_OF_RUN)} for row in lines.runs],
        judgements=[_values(row, JUDGEMENT_COLUMNS) for row in lines.judgements],
        windows=[_values(row, WINDOW_COLUMNS) for row in lines.windows],
        personal={
            row.field: personal_digest(row.field, row.value, bytes(row.salt))
            for row in lines.personal
        },
        answers=[_values(row, ANSWER_COLUMNS) for row in lines.answers],
    )


def _values(row: Model, names: tuple[str, ...]) -> Payload:
    """Columns of a row in memory, as its table would give them back."""
    found = _readers(type(row), names)
    return {name: _text(to_python(getattr(row, name))) for name, to_python in found}


@cache
def _readers(model: type[Model], names: tuple[str, ...]) -> list[tuple[str, Callable[..., Any]]]:
    return [(name, model._meta.get_field(name).to_python) for name in names]  # type: ignore[union-attr]


def _assembled(
    record: Payload,
    *,
    areas: list[Payload],
    runs: list[Payload],
    judgements: list[Payload],
    windows: list[Payload],
    personal: dict[str, str],
    answers: list[Payload],
) -> Payload:
    is_alone = record.pop(ONLY_WHEN_TRUE)
    return {
        **_versioned(record),
        "areas": areas,
        "judgements": judgements,
        "windows": windows,
        "personal": personal,
        # as the leaves before wall runs had names
        **({"runs": runs} if runs else {}),
        # only what has no second person says so, as every leaf before it
        **({"one_person_firm": True} if is_alone else {}),
        # a record without questions says nothing of them, as every leaf before them
        **({"answers": answers} if answers else {}),
    }


def _have_runs(areas: Mapping[int, list[Payload]]) -> bool:
    """Whether any area has wall runs; the mark itself is no part of a leaf."""
    marks = [area.pop(HAS_RUNS) for some in areas.values() for area in some]
    return any(marks)


def _runs(record_ids: Collection[int]) -> dict[int, list[Payload]]:
    rows = TreatedRun.objects.filter(area__record__in=record_ids)
    return dict(_rows(rows.annotate(zone_id=F("area__zone")), "area__record_id", RUN_COLUMNS))


def _versioned(record: Payload) -> Payload:
    """The columns of a record under the version that knows them all."""
    filled = [name for name in ONLY_WHEN_FILLED if record[name] not in EMPTY]
    is_later = any(record[name] for name in LATER_COLUMNS)
    names = (*(EVERY_COLUMN if is_later else RECORD_COLUMNS), *filled)
    version = LATER_VERSION if is_later else VERSION
    return {"version": version, "record": {name: record[name] for name in names}}


def _rows(
    rows: QuerySet[Any], owner: str, names: tuple[str, ...]
) -> defaultdict[int, list[Payload]]:
    found: defaultdict[int, list[Payload]] = defaultdict(list)
    for owner_id, *values in rows.order_by("pk").values_list(owner, *names):
        found[owner_id].append(dict(zip(names, map(_text, values), strict=True)))
    return found


def _personal_digests(record_ids: Collection[int]) -> defaultdict[int, dict[str, str]]:
    found: defaultdict[int, dict[str, str]] = defaultdict(dict)
    rows = RecordPersonalValue.objects.filter(record__in=record_ids)
    for record_id, field, value, salt in rows.values_list("record_id", "field", "value", "salt"):
        found[record_id][field] = kept_digest(field, value, salt)
    return found


def leaf_bytes(
    *,
    seq: int,
    kind: str,
    record_id: int | None,
    actor_id: int | None,
    at: datetime,
    payload: Mapping[str, object],
) -> bytes:
    """The canonical bytes of one leaf (RFC 8785; hashed as RFC 9162 2.1.1 says)."""
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


def _text(value: Any) -> object:
    if isinstance(value, datetime):
        return instant(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value
