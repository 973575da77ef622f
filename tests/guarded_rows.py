"""One row of every guarded table, for whoever attacks it."""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime

from django.db import models

from accounts.models import AuditEvent, Branch, Person
from scheduling.models import SeasonRule, ServiceAgreement
from sites.models import Device, DeviceRemoval
from tests.agreements import make_signed
from tests.devices import make_check, make_device
from tests.evidence import make_identification
from tests.factories import (
    make_branch,
    make_customer,
    make_label,
    make_load,
    make_lot,
    make_person,
    make_property,
    make_record,
    make_window,
    make_zone,
)
from tests.inspection_cases import GUARDED
from tests.logbooks import LOGBOOK_ROWS
from tests.notices import make_copy, make_evidence, make_notice
from tests.papers import make_credits, make_cycle, make_firm_paper, make_training
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    HistoricBatch,
    HistoricTreatment,
    Incident,
    JurisdictionProfile,
    LabelVerification,
    LabelWithdrawal,
    LoadProduct,
    LoadRest,
    LogEntry,
    PastDriver,
    PeriodClose,
    ProfileVerification,
    RecordPersonalValue,
    ResidualFactor,
    RetentionHold,
    SafetyAnswer,
    SignedHead,
    StockMove,
    StockPlace,
    TreatedRun,
    UnlistedUseDecision,
    VehicleCheck,
)

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


def guarded_record(**fields: object) -> ApplicationRecord:
    person = make_person(branch=make_branch())
    zone = make_zone(make_property(make_customer(person.branch)))
    return make_record(zone, person, make_label(), **fields)


def guarded_value(record: ApplicationRecord) -> RecordPersonalValue:
    return RecordPersonalValue.objects.create(
        record=record, field="customer", value="Pat Example", salt=secrets.token_bytes(32)
    )


def _leaf(branch: Branch) -> LogEntry:
    return LogEntry.objects.create(
        branch=branch, seq=1, kind="record", at=NOON, leaf=b"{}", leaf_hash="0" * 64
    )


def _signed() -> ServiceAgreement:
    return make_signed(make_property(make_customer(make_branch())))


ROWS: dict[str, Callable[[], models.Model]] = {
    "accounts_auditevent": lambda: AuditEvent.objects.create(
        at=NOON, person_name="Pat Example", act="opened", thing="branch:1"
    ),
    "accounts_trainingrecord": lambda: _corrected(make_training(_someone(), NOON.date())),
    "accounts_continuingeducation": lambda: _corrected(make_credits(_someone(), NOON.date())),
    "accounts_educationcycle": lambda: _corrected(make_cycle(_someone(), NOON.date())),
    "accounts_firmpaper": lambda: _corrected(make_firm_paper(make_branch(), NOON.date())),
    "sites_devicecheck": lambda: make_check(_device()),
    "sites_devicecount": lambda: make_check(_device(), count=3).counts.get(),
    "sites_deviceremoval": lambda: DeviceRemoval.objects.create(
        device=_device(), removed_on=NOON.date(), reason="lost", by=_someone()
    ),
    "sites_identification": lambda: _identified(),
    **LOGBOOK_ROWS,
    **GUARDED,
    "accounts_notice": lambda: make_notice(guarded_record()),
    "accounts_noticeevidence": lambda: make_evidence(guarded_record()),
    "treatments_recordcopy": lambda: make_copy(guarded_record()),
    "treatments_labelverification": lambda: LabelVerification.objects.create(
        label_version=make_label().label_version, verified_at=NOON
    ),
    "treatments_labelwithdrawal": lambda: LabelWithdrawal.objects.create(
        label_version=make_label().label_version, reason="Recalled.", at=NOON
    ),
    "treatments_applicationrecord": guarded_record,
    "treatments_treatedarea": lambda: guarded_record().treated_areas.get(),
    "treatments_treatedrun": lambda: _run(),
    "treatments_applicationjudgement": lambda: ApplicationJudgement.objects.create(
        record=guarded_record(),
        code="rate",
        severity="note",
        sentence="In the range.",
        clause="p. 3",
    ),
    "treatments_safetyanswer": lambda: SafetyAnswer.objects.create(
        record=guarded_record(),
        code="people_out",
        words="Are people out?",
        answer="yes",
        clause="p. 4",
    ),
    "treatments_recordpersonalvalue": lambda: guarded_value(guarded_record()),
    "treatments_logentry": lambda: _leaf(make_branch()),
    "treatments_signedhead": lambda: SignedHead.objects.create(
        branch=make_branch(), size=1, root="0" * 64, at=NOON
    ),
    "treatments_residualwindow": lambda: make_window(guarded_record()),
    "treatments_windowoverride": lambda: make_window(guarded_record()).overrides.create(
        days=30, expires_on=NOON.date(), reason="Hosed off."
    ),
    "treatments_residualfactor": lambda: ResidualFactor.objects.create(
        kind="heat", factor="0.8", from_on=NOON.date()
    ),
    "scheduling_agreementpaper": lambda: _signed().papers.get(),
    "scheduling_agreementacceptance": lambda: _signed().papers.get().acceptance,
    "scheduling_agreementstep": lambda: _signed().steps.first(),
    "scheduling_seasonrule": lambda: SeasonRule.objects.create(
        code="lead_days", value="14", from_on=NOON.date()
    ),
    "treatments_historictreatment": lambda: guarded_history(),
    "treatments_retentionhold": lambda: RetentionHold.objects.create(
        record=guarded_record(), reason="A claim."
    ),
    "treatments_incident": lambda: _incident(),
    "treatments_incidenthold": lambda: _incident().own_holds.create(reason="A claim."),
    "treatments_incidentrecord": lambda: _incident().concerns.create(record=guarded_record()),
    "treatments_incidentpersonalvalue": lambda: _incident().personal_values.create(
        field="whom", value="Pat Example", salt=secrets.token_bytes(32)
    ),
    "treatments_incidentaddendum": lambda: _incident().addenda.create(
        client_ref=uuid.uuid4(), kind="addition", words="Dry.", salt=secrets.token_bytes(32)
    ),
    "treatments_productlot": lambda: make_lot(),
    "treatments_load": lambda: make_load(make_person(branch=make_branch())),
    "treatments_loadproduct": lambda: _also_in_load(),
    "treatments_loadrest": lambda: _rest(),
    "treatments_stockmove": lambda: _taken_back(),
    "treatments_periodclose": lambda: PeriodClose.objects.create(
        branch=make_branch(), kind="close", through=NOON.date()
    ),
    "treatments_pastdriver": lambda: _past_driver(),
    "treatments_unlistedusedecision": lambda: _asked(),
    "treatments_profileverification": lambda: _profile_verified(),
    "treatments_vehiclecheck": lambda: _vehicle_check(),
    "treatments_vehiclecheckitem": lambda: _vehicle_check().items.create(
        item="eyewash", is_present=True
    ),
}


def _incident() -> Incident:
    return Incident.objects.create(
        client_ref=uuid.uuid4(),
        client_digest="0" * 64,
        branch=make_branch(),
        state="OH",
        kind="spill",
        happened_at=NOON,
        care="none",
        notice_sentence="Ask the agency.",
    )


def _device() -> Device:
    return make_device(make_property(make_customer(make_branch())))


def _identified() -> models.Model:
    person = _someone()
    return make_identification(make_property(make_customer(person.branch)), person)


def _someone() -> Person:
    return make_person(branch=make_branch())


def _corrected(row: models.Model) -> models.Model:
    """A correction of a row of the register, which holds the key of what it supersedes."""
    fields = [f for f in row._meta.concrete_fields if not f.primary_key]
    values = {f.attname: getattr(row, f.attname) for f in fields}
    return type(row)._default_manager.create(
        **values | {"supersedes_id": row.pk, "reason": "Entered wrong."}
    )


def _also_in_load() -> LoadProduct:
    load = make_load(make_person(branch=make_branch()))
    also = {"product_amount": "1", "product_unit": "fl_oz", "product_ul": 29_574}
    return LoadProduct.objects.create(load=load, label_version=make_label().label_version, **also)


def _rest() -> LoadRest:
    load = make_load(make_person(branch=make_branch()))
    left = {"amount": "0.5", "unit": "gal", "ul": 1_892_706, "difference_ul": 0}
    return LoadRest.objects.create(
        load=load, client_ref=uuid.uuid4(), client_digest="0" * 64, kind="kept", at=NOON, **left
    )


def _asked() -> UnlistedUseDecision:
    return UnlistedUseDecision.objects.create(
        property=make_property(make_customer(make_branch())), label_use=make_label(), method="foam"
    )


def _profile_verified() -> ProfileVerification:
    profile = JurisdictionProfile.objects.create(
        code="US-OH", reach="state", state="OH", effective_on=NOON.date(), citation="OAC"
    )
    return ProfileVerification.objects.create(profile=profile, verified_at=NOON)


def _vehicle_check() -> VehicleCheck:
    truck = StockPlace.objects.create(branch=make_branch(), kind="vehicle", name="Truck")
    return VehicleCheck.objects.create(vehicle=truck, checked_at=NOON, checked_on=NOON.date())


def _past_driver() -> PastDriver:
    truck = StockPlace.objects.create(branch=make_branch(), kind="vehicle", name="Truck")
    return PastDriver.objects.create(place=truck, technician=_someone(), until=NOON)


def _run() -> TreatedRun:
    area = guarded_record().treated_areas.get()
    return TreatedRun.objects.create(
        area=area, name="North wall", length="40", unit="ft", length_mm=12_192
    )


def _taken_back() -> StockMove:
    """The opposite of a delivery, which holds the key of what it takes back."""
    lot = make_lot()
    store = StockPlace.objects.create(branch=lot.branch, name="Store")
    fields = {"kind": "receive", "lot": lot, "to_place": store, "amount": "32", "unit": "fl_oz"}
    came = StockMove.objects.create(**fields, ul=946_353, at=NOON)
    return StockMove.objects.create(**fields, ul=-946_353, at=NOON, corrects=came)


def guarded_history() -> HistoricTreatment:
    zone = make_zone(make_property(make_customer(make_branch())))
    batch = HistoricBatch.objects.create(
        branch=zone.property.branch, file_name="sheet.csv", file_sha256="0" * 64, rows=1
    )
    return HistoricTreatment.objects.create(
        batch=batch, zone=zone, applied_on=date(2026, 8, 20), product_as_written="A SC"
    )
