"""Every way to write a row that a guard must refuse."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import DatabaseError, connection, models, transaction


def plain_field(row: models.Model) -> str:
    """Return the name of a field that no key and no relation depends on, else of a relation."""
    fields = [field for field in row._meta.local_concrete_fields if not field.primary_key]
    plain = [field for field in fields if not field.is_relation and not field.unique]
    return (plain or fields)[0].name


def sql(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def save(row: models.Model) -> None:
    row.save(force_update=True)


def update_of_a_set(row: models.Model) -> None:
    name = plain_field(row)
    type(row)._default_manager.filter(pk=row.pk).update(**{name: getattr(row, name)})


def bulk_update(row: models.Model) -> None:
    type(row)._default_manager.bulk_update([row], [plain_field(row)])


def bulk_create_over(row: models.Model) -> None:
    type(row)._default_manager.bulk_create(
        [row], update_conflicts=True, unique_fields=["pk"], update_fields=[plain_field(row)]
    )


def raw_update(row: models.Model) -> None:
    table, column = row._meta.db_table, row._meta.get_field(plain_field(row)).column
    sql(f"UPDATE {table} SET {column} = {column}")


UPDATES = (save, update_of_a_set, bulk_update, bulk_create_over, raw_update)


def fast_delete(row: models.Model) -> None:
    type(row)._default_manager.filter(pk=row.pk)._raw_delete("default")


def raw_delete(row: models.Model) -> None:
    sql(f"DELETE FROM {row._meta.db_table}")


def empty(row: models.Model) -> None:
    """TRUNCATE where there is one, else SQLite's form of it: a DELETE without a condition."""
    if connection.vendor == "postgresql":
        connection.check_constraints()
        sql(f"TRUNCATE {row._meta.db_table} CASCADE")
    else:
        raw_delete(row)


DELETES = (fast_delete, raw_delete, empty)


def refused(attack: Callable[[models.Model], None], row: models.Model) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        attack(row)
