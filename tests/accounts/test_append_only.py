"""Rows that never change: every write path of Django and raw SQL meets the guards, on both engines.

The holes tried here were measured on both engines: bulk paths, INSERT OR REPLACE, TRUNCATE, and
SQLite's table rebuild that drops triggers without a word.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, models

from accounts.append_only import NEVER, Guard
from accounts.models import AuditEvent, Person
from tests.attacks import DELETES, UPDATES, fast_delete, refused, save, sql
from tests.factories import (
    make_branch,
    make_customer,
    make_person,
    make_property,
    make_zone,
)
from tests.guarded_rows import NOON, ROWS, guarded_history, guarded_record, guarded_value
from tests.guards_off import all_guards
from treatments.models import (
    HistoricBatch,
    HistoricTreatment,
    RecordPersonalValue,
    ResidualWindow,
    RetentionHold,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
GUARDS = {guard.table: guard for guard in all_guards() if isinstance(guard, Guard)}
NEVER_CHANGED = sorted(table for table, guard in GUARDS.items() if guard.update_when == NEVER)
UNDONE_WITH_A_BATCH = {"treatments_historictreatment"}
NEVER_DELETED = sorted(table for table, guard in GUARDS.items() if guard.delete_when == NEVER)


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
    said = guarded_history()
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
    kept = guarded_value(guarded_record(retain_until=date(2999, 1, 1)))
    held = guarded_value(guarded_record(retain_until=date(2023, 1, 1)))
    free = guarded_value(guarded_record(retain_until=date(2023, 1, 1)))
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
