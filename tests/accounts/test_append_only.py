"""Rows that never change: every write path of Django and raw SQL meets the guards, on both engines.

The holes tried here were measured on both engines: bulk paths, INSERT OR REPLACE, TRUNCATE, and
SQLite's table rebuild that drops triggers without a word.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, models

from accounts.append_only import NEVER, Guard
from accounts.models import AuditEvent, Branch, Person
from tests.attacks import DELETES, UPDATES, fast_delete, refused, save, sql
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
from tests.guards_off import all_guards
from tests.inspection_cases import GUARDED
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
    ResidualWindow,
    RetentionHold,
    SafetyAnswer,
    SignedHead,
    StockMove,
    StockPlace,
    TreatedRun,
    UnlistedUseDecision,
    VehicleCheck,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
GUARDS = {guard.table: guard for guard in all_guards() if isinstance(guard, Guard)}
NEVER_CHANGED = sorted(table for table, guard in GUARDS.items() if guard.update_when == NEVER)
UNDONE_WITH_A_BATCH = {"treatments_historictreatment"}
NEVER_DELETED = sorted(table for table, guard in GUARDS.items() if guard.delete_when == NEVER)


def _record(**fields: object) -> ApplicationRecord:
    person = make_person(branch=make_branch())
    zone = make_zone(make_property(make_customer(person.branch)))
    return make_record(zone, person, make_label(), **fields)


def _personal_value(record: ApplicationRecord) -> RecordPersonalValue:
    return RecordPersonalValue.objects.create(
        record=record, field="customer", value="Pat Example", salt=secrets.token_bytes(32)
    )


def _leaf(branch: Branch) -> LogEntry:
    return LogEntry.objects.create(
        branch=branch, seq=1, kind="record", at=NOON, leaf=b"{}", leaf_hash="0" * 64
    )


ROWS: dict[str, Callable[[], models.Model]] = {
    **GUARDED,
    "accounts_auditevent": lambda: AuditEvent.objects.create(
        at=NOON, person_name="Pat Example", act="opened", thing="branch:1"
    ),
    "accounts_trainingrecord": lambda: _corrected(make_training(_someone(), NOON.date())),
    "accounts_continuingeducation": lambda: _corrected(make_credits(_someone(), NOON.date())),
    "accounts_educationcycle": lambda: _corrected(make_cycle(_someone(), NOON.date())),
    "accounts_firmpaper": lambda: _corrected(make_firm_paper(make_branch(), NOON.date())),
    "treatments_labelverification": lambda: LabelVerification.objects.create(
        label_version=make_label().label_version, verified_at=NOON
    ),
    "treatments_labelwithdrawal": lambda: LabelWithdrawal.objects.create(
        label_version=make_label().label_version, reason="Recalled.", at=NOON
    ),
    "treatments_applicationrecord": _record,
    "treatments_treatedarea": lambda: _record().treated_areas.get(),
    "treatments_treatedrun": lambda: _run(),
    "treatments_applicationjudgement": lambda: ApplicationJudgement.objects.create(
        record=_record(), code="rate", severity="note", sentence="In the range.", clause="p. 3"
    ),
    "treatments_safetyanswer": lambda: SafetyAnswer.objects.create(
        record=_record(), code="people_out", words="Are people out?", answer="yes", clause="p. 4"
    ),
    "treatments_recordpersonalvalue": lambda: _personal_value(_record()),
    "treatments_logentry": lambda: _leaf(make_branch()),
    "treatments_signedhead": lambda: SignedHead.objects.create(
        branch=make_branch(), size=1, root="0" * 64, at=NOON
    ),
    "treatments_residualwindow": lambda: make_window(_record()),
    "treatments_historictreatment": lambda: _historic(),
    "treatments_retentionhold": lambda: RetentionHold.objects.create(
        record=_record(), reason="A claim."
    ),
    "treatments_incident": lambda: _incident(),
    "treatments_incidentrecord": lambda: _incident().concerns.create(record=_record()),
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
    area = _record().treated_areas.get()
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


def _historic() -> HistoricTreatment:
    zone = make_zone(make_property(make_customer(make_branch())))
    batch = HistoricBatch.objects.create(
        branch=zone.property.branch, file_name="sheet.csv", file_sha256="0" * 64, rows=1
    )
    return HistoricTreatment.objects.create(
        batch=batch, zone=zone, applied_on=date(2026, 8, 20), product_as_written="A SC"
    )


def _columns(row: models.Model, *, key: bool) -> str:
    fields = [field for field in row._meta.local_concrete_fields if key or not field.primary_key]
    return ", ".join(field.column for field in fields)


def test_every_guarded_table_is_attacked() -> None:
    assert set(ROWS) == {*NEVER_CHANGED, *NEVER_DELETED}


@pytest.mark.parametrize("attack", UPDATES, ids=lambda attack: attack.__name__.strip("_"))
@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_no_write_path_changes_a_row(table: str, attack: Callable[[models.Model], None]) -> None:
    row = ROWS[table]()
    before = type(row)._default_manager.filter(pk=row.pk).values().get()
    refused(attack, row)
    assert type(row)._default_manager.filter(pk=row.pk).values().get() == before


@pytest.mark.parametrize("attack", DELETES, ids=lambda attack: attack.__name__.strip("_"))
@pytest.mark.parametrize("table", sorted(set(ROWS) - UNDONE_WITH_A_BATCH))
def test_no_write_path_deletes_a_row(table: str, attack: Callable[[models.Model], None]) -> None:
    row = ROWS[table]()
    refused(attack, row)
    assert type(row)._default_manager.filter(pk=row.pk).exists()


def test_what_a_spreadsheet_said_can_be_undone() -> None:
    said = _historic()
    said.delete()
    assert not HistoricTreatment.objects.exists()


def test_an_ordinary_delete_is_refused_too() -> None:
    refused(lambda row: row.delete() and None, ROWS["accounts_auditevent"]())


def _unique_keys(model: type[models.Model]) -> set[tuple[str, ...]]:
    constraints = [c for c in model._meta.constraints if isinstance(c, models.UniqueConstraint)]
    names = [tuple(constraint.fields) for constraint in constraints]
    names += [(f.name,) for f in model._meta.local_fields if f.unique and not f.primary_key]
    return {tuple(model._meta.get_field(name).column for name in key) for key in names}


@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_a_guard_knows_every_unique_key_of_its_table(table: str) -> None:
    """A key the guard does not know could be overwritten on SQLite by INSERT OR REPLACE."""
    model = next(model for model in apps.get_models() if model._meta.db_table == table)
    assert _unique_keys(model) == set(GUARDS[table].keys)


def _replace(row: models.Model, *, key: bool) -> None:
    """Put the same row over itself, by its primary key or by its other keys only.

    Recursive triggers are switched off first: another program's connection would not have them.
    PostgreSQL has no INSERT OR REPLACE; its form of it is an upsert on the same key.
    """
    table, columns = row._meta.db_table, _columns(row, key=key)
    source = f"SELECT {columns} FROM {table} WHERE id = {row.pk}"
    if connection.vendor == "sqlite":
        sql("PRAGMA recursive_triggers=OFF")
        sql(f"INSERT OR REPLACE INTO {table} ({columns}) {source}")
        return
    target = "id" if key else ", ".join(GUARDS[table].keys[0])
    first = columns.split(", ")[-1]
    upsert = f"ON CONFLICT ({target}) DO UPDATE SET {first} = EXCLUDED.{first}"
    sql(f"INSERT INTO {table} ({columns}) {source} {upsert}")


@pytest.fixture
def _recursive_triggers_again() -> object:
    yield
    if connection.vendor == "sqlite":
        sql("PRAGMA recursive_triggers=ON")


@pytest.mark.usefixtures("_recursive_triggers_again")
@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_a_row_is_not_overwritten_by_its_primary_key(table: str) -> None:
    row = ROWS[table]()
    refused(lambda row: _replace(row, key=True), row)


@pytest.mark.usefixtures("_recursive_triggers_again")
@pytest.mark.parametrize("table", [table for table in NEVER_CHANGED if GUARDS[table].keys])
def test_a_row_is_not_overwritten_by_another_key(table: str) -> None:
    row = ROWS[table]()
    refused(lambda row: _replace(row, key=False), row)
    assert type(row)._default_manager.filter(pk=row.pk).exists()


def _lose_the_guards() -> None:
    """SQLite: rebuild the table as a later migration would; PostgreSQL: the owner drops it."""
    if connection.vendor == "sqlite":
        with connection.schema_editor() as editor:
            editor._remake_table(AuditEvent)
    else:
        sql("DROP TRIGGER accounts_auditevent_keep_update ON accounts_auditevent")


@pytest.mark.django_db(transaction=True)
def test_migrate_puts_lost_guards_back(guards_on: Callable[[], list[str]]) -> None:
    _lose_the_guards()
    assert guards_on() == ["accounts_auditevent"]
    call_command("migrate", verbosity=0)
    assert guards_on() == []
    refused(save, ROWS["accounts_auditevent"]())


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_emptying_between_tests_leaves_no_row_and_every_guard(
    turn: int, guards_on: Callable[[], list[str]]
) -> None:
    assert AuditEvent.objects.count() == 0, "a row leaked out of the test before"
    assert guards_on() == []
    ROWS["accounts_auditevent"]()


def test_personal_values_go_only_past_retention_and_without_a_hold() -> None:
    kept = _personal_value(_record(retain_until=date(2999, 1, 1)))
    held = _personal_value(_record(retain_until=date(2023, 1, 1)))
    free = _personal_value(_record(retain_until=date(2023, 1, 1)))
    hold = RetentionHold.objects.create(record=held.record, reason="Complaint")
    free.delete()
    for row in (kept, held):
        refused(fast_delete, row)
    hold.released_at = NOON
    hold.save()
    held.delete()
    assert [value.pk for value in RecordPersonalValue.objects.all()] == [kept.pk]


def _historic_window(person: Person) -> ResidualWindow:
    zone = make_zone(make_property(make_customer(person.branch)))
    batch = HistoricBatch.objects.create(
        branch=person.branch, file_name="firm.csv", file_sha256="0" * 64, rows=1
    )
    treatment = HistoricTreatment.objects.create(
        batch=batch, zone=zone, applied_on=date(2026, 5, 1), residual_days=90
    )
    return ResidualWindow.objects.create(
        zone=zone,
        pest_group="general",
        historic=treatment,
        claim_days=90,
        days=90,
        applied_on=date(2026, 5, 1),
        opens_on=date(2026, 5, 1),
        expires_on=date(2026, 7, 30),
    )


def test_a_window_from_the_spreadsheet_can_be_taken_back_but_not_changed() -> None:
    window = _historic_window(make_person(branch=make_branch()))
    refused(save, window)
    window.historic.batch.delete()
    assert not ResidualWindow.objects.exists()
