"""Storing an entry that takes the place of another: a whole row, judged again, with its leaf.

Order: the caller has locked the property. The row comes first, so that what it replaces is no
earlier use of the same zones any more; then it is judged, then its lines, windows and stock.
"""

from __future__ import annotations

import json
import secrets
import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from accounts.refusals import Refused
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    RecordPersonalValue,
    SafetyAnswer,
    TreatedArea,
)
from treatments.rules.effective import EntryKind
from treatments.rules.label_checks import Judgement
from treatments.rules.leaves import SALT_BYTES
from treatments.rules.periods import refuse_closed
from treatments.selectors.checks import judge_record
from treatments.selectors.entries import PERSONAL_FACTS
from treatments.selectors.entry_rules import followed_by_entry, given_of
from treatments.selectors.notices import personal
from treatments.selectors.payloads import payloads_of
from treatments.selectors.periods import closed_through
from treatments.selectors.profile_jobs import Followed
from treatments.selectors.residual_factors import factor_table
from treatments.selectors.rule_gaps import LATE, judge_gaps
from treatments.selectors.whole import Whole
from treatments.services.auditing import settle_entry
from treatments.services.freezing import frozen_columns, personal_values
from treatments.services.log import append_leaf
from treatments.services.profiles import mark_used
from treatments.services.protections import refresh_protections
from treatments.services.recalls import keep_recall_of_record
from treatments.services.recording import open_windows, store_areas
from treatments.services.residual_factors import carry_overrides
from treatments.services.stock_use import take_back_use, use_from_stock

if TYPE_CHECKING:
    from accounts.models import Person

# what the device said of the first entry stays; when an entry arrived is its own
OWN_COLUMNS = frozenset(
    {"id", "client_ref", "client_digest", "entry", "corrects", "correction_reason", "approved_by"}
    | {"is_one_person_firm", "created_at", "created_by", "received_at"}
)
LICENSE = (
    "license_number",
    "license_kind",
    "license_expires_on",
    "supervisor_license_number",
    "supervisor_category",
)
RULES = ("profile_codes", "complete_by", "retain_until")
TIMES = ("started_at", "finished_at", "applied_on", "reentry_until", *LICENSE, *RULES)
DERIVED = ("rate_applied", "percent_active")
PRODUCT = ("product_amount", "product_unit", "product_ul", "product_mg")
FINISHED = ("finished_amount", "finished_unit", "finished_ul", "mix_basis")
LABEL = (
    "label_version",
    "label_use",
    "product_name",
    "registration_kind",
    "registration_number",
    "ingredients",
    "is_restricted_use",
    "reentry_text",
    "reentry_until",
)
COLUMNS_OF: dict[str, tuple[str, ...]] = {
    "started_at": TIMES,
    "finished_at": TIMES,
    "applicator": ("applicator", *LICENSE),
    "direction": (*LABEL, *PRODUCT, *FINISHED, *DERIVED, *RULES),
    "zones": ("area_mm2", "length_mm", *DERIVED),
    "product_amount": (*PRODUCT, *DERIVED),
    "finished_amount": (*FINISHED, *DERIVED),
    **dict.fromkeys(PERSONAL_FACTS, ()),
}
# a moment on the truck that nobody can look at again
KEPT_JUDGEMENTS = ("lot", "lot_label", "lot_expired", "load")
NOT_IN_A_VOID = (*PRODUCT, *FINISHED, *DERIVED, "area_mm2", "length_mm")


@dataclass(frozen=True)
class Signed:
    """Who made an entry and why; who approved it, and whether that was the same person."""

    by: Person
    now: datetime
    kind: EntryKind
    reason: str = ""
    approved_by: Person | None = None
    is_one_person_firm: bool = False
    client_ref: uuid.UUID | None = None


@transaction.atomic
def store_entry(
    before: ApplicationRecord, whole: Whole, changed: Collection[str], signed: Signed
) -> ApplicationRecord:
    """Store a whole entry in the place of `before`; `changed` names the fields that differ.

    Refused: an entry that something follows already, a void, a day in a closed period.
    """
    followed = followed_by_entry(before, whole, changed)
    mark_used(followed.profiles, signed.now)
    columns = _kept(before) | _changed(whole, followed, changed, signed)
    record = _create(before, columns, signed)
    said = _personal_after(before, whole, changed)
    gaps = judge_gaps(followed, given_of(record, said))
    _copy_lines(before, record, said, _judge(before, whole, changed, gaps))
    areas, _ = store_areas(record, whole)
    windows = open_windows(whole, areas, signed.by, factor_table())
    carry_overrides(before, windows)
    refresh_protections({*(area.zone_id for area in areas), *_zones(before)})
    take_back_use(record=before, reason=_stock_reason(record), by=signed.by, now=signed.now)
    use_from_stock(record=record, by=signed.by, now=signed.now, instead_of=before)
    settle_entry(before, record, said, signed.now)
    return _finish(record, signed)


@transaction.atomic
def store_void(before: ApplicationRecord, signed: Signed) -> ApplicationRecord:
    """Store a void in the place of `before`: it names the work and counts nowhere."""
    columns = _kept(before) | {name: _empty(name) for name in NOT_IN_A_VOID}
    record = _create(before, columns, signed)
    _copy_personal(record, personal(before))
    refresh_protections(_zones(before))
    take_back_use(record=before, reason=_stock_reason(record), by=signed.by, now=signed.now)
    settle_entry(before, record, {}, signed.now)
    return _finish(record, signed)


def _finish(record: ApplicationRecord, signed: Signed) -> ApplicationRecord:
    keep_recall_of_record(record, signed.now)
    append_leaf(
        branch_id=record.branch_id,
        kind=str(signed.kind),
        payload=payloads_of([record.pk])[record.pk],
        record=record,
        by=signed.by,
        now=signed.now,
    )
    # a period closed meanwhile held the frontier before us: now its row can be seen
    _refuse_closed(record)
    return record


def _create(
    before: ApplicationRecord, columns: dict[str, Any], signed: Signed
) -> ApplicationRecord:
    own = {
        "client_ref": signed.client_ref or uuid.uuid4(),
        "client_digest": _digest(before, columns),
        "entry": str(signed.kind),
        "corrects": before,
        "correction_reason": signed.reason.strip(),
        "approved_by": signed.approved_by,
        "is_one_person_firm": signed.is_one_person_firm,
        "created_at": signed.now,
        "created_by": signed.by,
        "received_at": signed.now,
    }
    try:
        with transaction.atomic():
            record = ApplicationRecord.objects.create(**columns | own)
    except IntegrityError as failure:
        raise Refused(
            "followed", "Somebody changed this record just now. Open its last version."
        ) from failure
    _refuse_closed(before)
    _refuse_closed(record)
    return record


def _refuse_closed(record: ApplicationRecord) -> None:
    refuse_closed(record.applied_on, closed_through(record.branch_id))


def _kept(before: ApplicationRecord) -> dict[str, Any]:
    fields = ApplicationRecord._meta.concrete_fields
    return {one.name: getattr(before, one.name) for one in fields if one.name not in OWN_COLUMNS}


def _changed(
    whole: Whole, followed: Followed, changed: Iterable[str], signed: Signed
) -> dict[str, Any]:
    frozen = frozen_columns(whole, followed, signed.by, signed.now)
    names = {name for field in changed for name in COLUMNS_OF.get(field, (field,))}
    return {name: frozen[name] if name in frozen else _empty(name) for name in names}


def _empty(name: str) -> Any:
    return ApplicationRecord._meta.get_field(name).get_default()  # type: ignore[union-attr]


def _digest(before: ApplicationRecord, columns: dict[str, Any]) -> str:
    said = {name: getattr(value, "pk", value) for name, value in columns.items()}
    text = json.dumps([before.pk, said], sort_keys=True, default=str)
    return sha256(text.encode()).hexdigest()


def _judge(
    before: ApplicationRecord, whole: Whole, changed: Collection[str], gaps: Iterable[Judgement]
) -> list[tuple[str, str, str, str]]:
    """Label and rules anew; when the record came stays as it was judged then (check A02)."""
    judged = (*judge_record(whole), *gaps)
    rows = [(one.code, str(one.severity), one.sentence, one.clause) for one in judged]
    is_of_truck = not {"direction", "applicator"} & set(changed)
    kept = {LATE, *(KEPT_JUDGEMENTS if is_of_truck else ())}
    return rows + [
        (one.code, one.severity, one.sentence, one.clause)
        for one in before.judgements.all()
        if one.code in kept
    ]


def _copy_lines(
    before: ApplicationRecord,
    record: ApplicationRecord,
    said: dict[str, str],
    judged: Iterable[tuple[str, str, str, str]],
) -> None:
    ApplicationJudgement.objects.bulk_create(
        ApplicationJudgement(
            record=record, code=code, severity=severity, sentence=sentence, clause=clause
        )
        for code, severity, sentence, clause in judged
    )
    SafetyAnswer.objects.bulk_create(
        SafetyAnswer(
            record=record, code=one.code, words=one.words, answer=one.answer, clause=one.clause
        )
        for one in before.answers.all()
    )
    _copy_personal(record, said)


def _personal_after(
    before: ApplicationRecord, whole: Whole, changed: Collection[str]
) -> dict[str, str]:
    said, anew = personal(before), personal_values(whole, whole.application.customer_phone)
    names = {"applicator": ("applicator_name", "supervisor_name")}
    for field in ("applicator", *PERSONAL_FACTS):
        if field in changed:
            said |= {name: anew.get(name, "") for name in names.get(field, (field,))}
    return said


def _copy_personal(record: ApplicationRecord, values: dict[str, str]) -> None:
    RecordPersonalValue.objects.bulk_create(
        RecordPersonalValue(
            record=record, field=field, value=value, salt=secrets.token_bytes(SALT_BYTES)
        )
        for field, value in values.items()
        if value
    )


def _zones(record: ApplicationRecord) -> list[int]:
    areas = TreatedArea.objects.filter(record=record)
    return list(areas.values_list("zone_id", flat=True))


def _stock_reason(record: ApplicationRecord) -> str:
    return f"Record {record.corrects_id}: {record.correction_reason or 'completed'}"
