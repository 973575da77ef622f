"""Rows that never change: every write path of Django and raw SQL meets the guards, on both engines.

The holes tried here were measured on both engines: bulk paths, INSERT OR REPLACE, TRUNCATE, and
SQLite's table rebuild that drops triggers without a word.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction

from accounts.append_only import NEVER, Guard
from accounts.models import AuditEvent, Branch, Person
from tests.factories import (
    make_branch,
    make_customer,
    make_label,
    make_person,
    make_pest,
    make_property,
    make_record,
    make_window,
    make_zone,
)
from tests.guards_off import all_guards
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    HistoricBatch,
    HistoricTreatment,
    LabelLimit,
    LabelUse,
    LabelVerification,
    LogEntry,
    RecordPersonalValue,
    ResidualWindow,
    RetentionHold,
    SignedHead,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
GUARDS = {guard.table: guard for guard in all_guards() if isinstance(guard, Guard)}
NEVER_CHANGED = sorted(table for table, guard in GUARDS.items() if guard.update_when == NEVER)
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
    "accounts_auditevent": lambda: AuditEvent.objects.create(
        at=NOON, person_name="Pat Example", act="opened", thing="branch:1"
    ),
    "treatments_labelverification": lambda: LabelVerification.objects.create(
        label_version=make_label().label_version, verified_at=NOON
    ),
    "treatments_applicationrecord": _record,
    "treatments_treatedarea": lambda: _record().treated_areas.get(),
    "treatments_applicationjudgement": lambda: ApplicationJudgement.objects.create(
        record=_record(), code="rate", severity="note", sentence="In the range.", clause="p. 3"
    ),
    "treatments_recordpersonalvalue": lambda: _personal_value(_record()),
    "treatments_logentry": lambda: _leaf(make_branch()),
    "treatments_signedhead": lambda: SignedHead.objects.create(
        branch=make_branch(), size=1, root="0" * 64, at=NOON
    ),
    "treatments_residualwindow": lambda: make_window(_record()),
}


def _columns(row: models.Model, *, key: bool) -> str:
    fields = [field for field in row._meta.local_concrete_fields if key or not field.primary_key]
    return ", ".join(field.column for field in fields)


def _plain_field(row: models.Model) -> str:
    """Return the name of a field that no key and no relation depends on."""
    return next(
        field.name
        for field in row._meta.local_concrete_fields
        if not field.primary_key and not field.is_relation and not field.unique
    )


def _sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def _save(row: models.Model) -> None:
    row.save(force_update=True)


def _update_of_a_set(row: models.Model) -> None:
    name = _plain_field(row)
    type(row)._default_manager.filter(pk=row.pk).update(**{name: getattr(row, name)})


def _bulk_update(row: models.Model) -> None:
    type(row)._default_manager.bulk_update([row], [_plain_field(row)])


def _bulk_create_over(row: models.Model) -> None:
    type(row)._default_manager.bulk_create(
        [row], update_conflicts=True, unique_fields=["pk"], update_fields=[_plain_field(row)]
    )


def _raw_update(row: models.Model) -> None:
    table, column = row._meta.db_table, row._meta.get_field(_plain_field(row)).column
    _sql(f"UPDATE {table} SET {column} = {column}")


UPDATES = (_save, _update_of_a_set, _bulk_update, _bulk_create_over, _raw_update)


def _fast_delete(row: models.Model) -> None:
    type(row)._default_manager.filter(pk=row.pk)._raw_delete("default")


def _raw_delete(row: models.Model) -> None:
    _sql(f"DELETE FROM {row._meta.db_table}")


def _empty(row: models.Model) -> None:
    """TRUNCATE where there is one, else SQLite's form of it: a DELETE without a condition."""
    if connection.vendor == "postgresql":
        connection.check_constraints()
        _sql(f"TRUNCATE {row._meta.db_table} CASCADE")
    else:
        _raw_delete(row)


DELETES = (_fast_delete, _raw_delete, _empty)


def _refused(attack: Callable[[models.Model], None], row: models.Model) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        attack(row)


def test_every_guarded_table_is_attacked() -> None:
    assert set(ROWS) == {*NEVER_CHANGED, *NEVER_DELETED}


@pytest.mark.parametrize("attack", UPDATES, ids=lambda attack: attack.__name__.strip("_"))
@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_no_write_path_changes_a_row(table: str, attack: Callable[[models.Model], None]) -> None:
    row = ROWS[table]()
    before = type(row)._default_manager.filter(pk=row.pk).values().get()
    _refused(attack, row)
    assert type(row)._default_manager.filter(pk=row.pk).values().get() == before


@pytest.mark.parametrize("attack", DELETES, ids=lambda attack: attack.__name__.strip("_"))
@pytest.mark.parametrize("table", sorted(ROWS))
def test_no_write_path_deletes_a_row(table: str, attack: Callable[[models.Model], None]) -> None:
    row = ROWS[table]()
    _refused(attack, row)
    assert type(row)._default_manager.filter(pk=row.pk).exists()


def test_an_ordinary_delete_is_refused_too() -> None:
    _refused(lambda row: row.delete() and None, ROWS["accounts_auditevent"]())


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
        _sql("PRAGMA recursive_triggers=OFF")
        _sql(f"INSERT OR REPLACE INTO {table} ({columns}) {source}")
        return
    target = "id" if key else ", ".join(GUARDS[table].keys[0])
    first = columns.split(", ")[-1]
    upsert = f"ON CONFLICT ({target}) DO UPDATE SET {first} = EXCLUDED.{first}"
    _sql(f"INSERT INTO {table} ({columns}) {source} {upsert}")


@pytest.fixture
def _recursive_triggers_again() -> object:
    yield
    if connection.vendor == "sqlite":
        _sql("PRAGMA recursive_triggers=ON")


@pytest.mark.usefixtures("_recursive_triggers_again")
@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_a_row_is_not_overwritten_by_its_primary_key(table: str) -> None:
    row = ROWS[table]()
    _refused(lambda row: _replace(row, key=True), row)


@pytest.mark.usefixtures("_recursive_triggers_again")
@pytest.mark.parametrize("table", [table for table in NEVER_CHANGED if GUARDS[table].keys])
def test_a_row_is_not_overwritten_by_another_key(table: str) -> None:
    row = ROWS[table]()
    _refused(lambda row: _replace(row, key=False), row)
    assert type(row)._default_manager.filter(pk=row.pk).exists()


def _lose_the_guards() -> None:
    """SQLite: rebuild the table as a later migration would; PostgreSQL: the owner drops it."""
    if connection.vendor == "sqlite":
        with connection.schema_editor() as editor:
            editor._remake_table(AuditEvent)
    else:
        _sql("DROP TRIGGER accounts_auditevent_keep_update ON accounts_auditevent")


@pytest.mark.django_db(transaction=True)
def test_migrate_puts_lost_guards_back(guards_on: Callable[[], list[str]]) -> None:
    _lose_the_guards()
    assert guards_on() == ["accounts_auditevent"]
    call_command("migrate", verbosity=0)
    assert guards_on() == []
    _refused(_save, ROWS["accounts_auditevent"]())


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_emptying_between_tests_leaves_no_row_and_every_guard(
    turn: int, guards_on: Callable[[], list[str]]
) -> None:
    assert AuditEvent.objects.count() == 0, "a row leaked out of the test before"
    assert guards_on() == []
    ROWS["accounts_auditevent"]()


def _limit(use: LabelUse) -> LabelLimit:
    return LabelLimit.objects.create(
        label_version=use.label_version,
        label_use=use,
        fact="wind",
        comparison="at_most",
        limit=10,
        severity="warn",
        sentence="Not above 10 mph.",
        page="p. 2",
    )


def test_a_label_changes_until_it_is_used_and_then_never() -> None:
    person = make_person(branch=make_branch())
    use = make_label()
    limit = _limit(use)
    for row in (use.label_version, use, limit):
        row.save(force_update=True)
    use.pests.add(make_pest())
    make_record(make_zone(make_property(make_customer(person.branch))), person, use)
    for row in (use.label_version, use, limit):
        _refused(_save, row)
        _refused(_fast_delete, row)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        use.pests.clear()


def test_a_label_nobody_used_can_be_deleted() -> None:
    use = make_label(is_verified=False)
    version = use.label_version
    use.delete()
    version.delete()
    assert not LabelUse.objects.exists()


def test_personal_values_go_only_past_retention_and_without_a_hold() -> None:
    kept = _personal_value(_record(retain_until=date(2999, 1, 1)))
    held = _personal_value(_record(retain_until=date(2023, 1, 1)))
    free = _personal_value(_record(retain_until=date(2023, 1, 1)))
    hold = RetentionHold.objects.create(record=held.record, reason="Complaint")
    free.delete()
    for row in (kept, held):
        _refused(_fast_delete, row)
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
    _refused(_save, window)
    window.historic.batch.delete()
    assert not ResidualWindow.objects.exists()
