"""Recording what was put down: one transaction, one answer, whatever the label says of it."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.services.audit import note_event, open_item
from sites.services.locks import take_turn
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    RecordPersonalValue,
    ResidualWindow,
    SafetyAnswer,
    TreatedArea,
    TreatedRun,
)
from treatments.rules.applications import Application, digest_of, refuse_apart, refuse_nonsense
from treatments.rules.leaves import SALT_BYTES
from treatments.rules.periods import is_closed
from treatments.rules.questions import kept_answer
from treatments.rules.residual import window
from treatments.rules.residual_factors import (
    FactorRow,
    TreatedSurface,
    chosen,
    factors_of,
    kept_factors,
)
from treatments.selectors.checks import judge_record
from treatments.selectors.gathering import Gathered, gather, settled
from treatments.selectors.loads import load_key
from treatments.selectors.payloads import Lines, payload_of
from treatments.selectors.periods import closed_through
from treatments.selectors.profile_jobs import customer_phone
from treatments.selectors.residual_factors import surface_treated
from treatments.selectors.rule_gaps import judge_rules
from treatments.selectors.safety_questions import answered
from treatments.selectors.stock import vehicle_at
from treatments.selectors.whole import Whole
from treatments.services.auditing import settle_record
from treatments.services.freezing import frozen_columns, personal_values
from treatments.services.load_stock import lock_lots_of
from treatments.services.load_use import judge_load, locked_state, with_load
from treatments.services.log import append_leaf
from treatments.services.profiles import mark_used
from treatments.services.protections import new_window, refresh_protections
from treatments.services.recalls import keep_recall_of_load
from treatments.services.stock_use import use_from_stock

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import LabelUse


@dataclass(frozen=True)
class Recorded:
    """The stored record and what was judged of it; a replay gives the first answer again."""

    record: ApplicationRecord
    judgements: tuple[ApplicationJudgement, ...]
    is_replay: bool


def record_application(
    *, application: Application, by: Person, now: datetime, gathered: Gathered | None = None
) -> Recorded:
    """Record one application by the person who made it.

    What was done is stored even against the label; that becomes a judgement. Refused: what cannot
    be true (times, units, amounts, zones of another property), a record for somebody else, a
    reference that already names another record. The same content again is a replay. A caller
    with a transaction of its own hands over what `gather` read before that one began.
    Order of locks: DEVELOPERS.md, Decisions; the caller has locked visit and renewal before.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    refuse_nonsense(application, now=now)
    if application.applicator_id != by.pk:
        raise Refused("not_own", "Each person records their own work. Sign in as who did it.")
    gathered = gathered or gather(application, by)
    try:
        with transaction.atomic():
            return _record(application, by, now, gathered)
    except IntegrityError:
        # the same reference at the same moment at another property: the other one was first
        first = _first_answer(application)
        if first is None:
            raise
        return first


def record_tank(
    *,
    applications: Sequence[Application],
    by: Person,
    now: datetime,
    gathered: Sequence[Gathered] = (),
) -> tuple[Recorded, ...]:
    """Record each product of one load that was put out together, all of them or none.

    Refused: what `record_application` refuses of any of them, and records that do not say the
    same load, zones, spray and times.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    for application in applications:
        refuse_nonsense(application, now=now)
        if application.applicator_id != by.pk:
            raise Refused("not_own", "Each person records their own work. Sign in as who did it.")
    refuse_apart(applications)
    gathered = gathered or [gather(one, by) for one in applications]
    with transaction.atomic():
        _lock_tank(applications[0], by)
        return tuple(
            _record(one, by, now, known, beside=applications)
            for one, known in zip(applications, gathered, strict=True)
        )


def _lock_tank(application: Application, by: Person) -> None:
    """Lock all that the records of one load take, in the order of one record."""
    take_turn(application.property_id)
    load = locked_state(by, client_ref=load_key(application.load_ref)).load
    lock_lots_of(load, vehicle_at(by.pk, application.finished_at))


def _record(
    application: Application,
    by: Person,
    now: datetime,
    gathered: Gathered,
    beside: Sequence[Application] = (),
) -> Recorded:
    take_turn(application.property_id)
    application, load = with_load(application, by, beside)
    first = _first_answer(application)
    if first is not None:
        return first
    case = settled(gathered, application)
    whole, followed = case.whole, case.followed
    judged = judge_record(whole, case.known)
    phone = application.customer_phone or customer_phone(whole, followed)
    judged = (*judge_load(load, whole, judged), *judged, *judge_rules(whole, followed, phone, now))
    mark_used(followed.profiles, now)
    record = ApplicationRecord.objects.create(**frozen_columns(whole, followed, by, now))
    said = personal_values(whole, phone)
    personal = _keep_personal_values(record, said)
    areas, runs = store_areas(record, whole)
    judgements = ApplicationJudgement.objects.bulk_create(
        ApplicationJudgement(
            record=record,
            code=one.code,
            severity=one.severity,
            sentence=one.sentence,
            clause=one.clause,
        )
        for one in judged
    )
    answers = _keep_answers(record, whole)
    windows = open_windows(whole, areas, by, gathered.factors)
    _ask_for_verification(whole)
    refresh_protections((area.zone_id for area in areas), may_end=False)
    lot = whole.application.lot_number
    use_from_stock(record=record, by=by, now=now, vehicle=gathered.vehicle, lot_number=lot)
    if load is not None:
        keep_recall_of_load(load.load, now)
    note_event(by=by, act="record_application", thing=record, now=now)
    append_leaf(
        branch_id=record.branch_id,
        kind="record",
        payload=payload_of(record, Lines(areas, runs, judgements, windows, personal, answers)),
        record=record,
        by=by,
        now=now,
    )
    _tell_of_closed_period(record)
    settle_record(record, said, judgements)
    return Recorded(record, tuple(judgements), is_replay=False)


def _tell_of_closed_period(record: ApplicationRecord) -> None:
    """What was done is recorded, also late; inside a closed period a manager must know of it."""
    if is_closed(record.applied_on, closed_through(record.branch_id)):
        open_item(
            branch_id=record.branch_id,
            code="record_in_closed_period",
            thing=record,
            sentence=f"Record {record.pk} arrived after the period of "
            f"{short_day(record.applied_on, True)} was closed. Reports of the period miss it.",
        )


def _first_answer(application: Application) -> Recorded | None:
    known = ApplicationRecord.objects.filter(client_ref=application.client_ref)
    if not known.exists():
        return None
    record = known.get()
    if record.client_digest != digest_of(application):
        raise Refused(
            "reused_reference",
            "This reference already names another record. Send it with a reference of its own.",
        )
    return Recorded(record, tuple(record.judgements.all()), is_replay=True)


def _keep_personal_values(
    record: ApplicationRecord, values: dict[str, str]
) -> list[RecordPersonalValue]:
    return RecordPersonalValue.objects.bulk_create(
        RecordPersonalValue(
            record=record, field=field, value=value, salt=secrets.token_bytes(SALT_BYTES)
        )
        for field, value in values.items()
    )


def _keep_answers(record: ApplicationRecord, whole: Whole) -> list[SafetyAnswer]:
    if whole.use is None:
        return []
    return SafetyAnswer.objects.bulk_create(
        SafetyAnswer(
            record=record,
            code=question.code,
            words=question.kept,
            answer=kept_answer(question, answer),
            clause=question.clause,
        )
        for question, answer in answered(whole, whole.use)
        if answer
    )


def store_areas(
    record: ApplicationRecord, whole: Whole
) -> tuple[list[TreatedArea], list[TreatedRun]]:
    """Store the zones of an entry with the sizes that were treated, and their wall runs."""
    areas = TreatedArea.objects.bulk_create(
        TreatedArea(
            record=record,
            zone=part.zone,
            zone_name=part.zone.name,
            place=part.zone.place,
            size=part.size.size,
            size_unit=part.size.unit,
            area_mm2=part.size.area_mm2,
            length_mm=part.size.length_mm,
            height_up_mm=part.zone.height_up_mm,
            width_out_mm=part.zone.width_out_mm,
        )
        for part in whole.parts
    )
    runs = TreatedRun.objects.bulk_create(
        TreatedRun(area=area, **asdict(run))
        for area, part in zip(areas, whole.parts, strict=True)
        for run in part.runs
    )
    return areas, runs


def _ask_for_verification(whole: Whole) -> None:
    """An unverified label that is in use is a matter for a manager, once a label."""
    if whole.use is None or whole.use.label_version.verifications.all():
        return
    open_item(
        branch_id=whole.place.branch_id,
        code="label_unverified",
        thing=whole.use.label_version,
        sentence=f"{whole.use.label_version} is in use and nobody has verified it. "
        "Compare it with the printed label.",
    )


def open_windows(
    whole: Whole, areas: Sequence[TreatedArea], by: Person, table: Sequence[FactorRow]
) -> list[ResidualWindow]:
    """Open the windows of an entry's zones, unless its direction claims no residual.

    `table` are the firm's factors; those of each zone on the day shorten the claim there.
    """
    use = whole.use
    if use is None or use.residual_days is None:
        return []
    return ResidualWindow.objects.bulk_create(
        row
        for area in areas
        for row in _windows_of_area(whole, use, area, by, surface_treated(whole, area.zone), table)
    )


def _windows_of_area(
    whole: Whole,
    use: LabelUse,
    area: TreatedArea,
    by: Person,
    treated: TreatedSurface,
    table: Sequence[FactorRow],
) -> list[ResidualWindow]:
    rows = chosen(table, treated)
    claim = use.residual_days or 0
    days = window(whole.on, claim, use.min_interval_days, factors_of(rows))
    kept = kept_factors(treated, rows)
    return [
        new_window(
            days, zone_id=area.zone_id, pest_group=group, by=by, factors=kept, treated_area=area
        )
        for group in whole.pest_groups
    ]
