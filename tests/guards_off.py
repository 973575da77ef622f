"""Emptying guarded tables between tests that commit, and writing behind the guards as an owner can.

The guards refuse DELETE and TRUNCATE, which is how Django empties tables after a test that
commits. Only the flush itself runs with the triggers off, inside its own list of statements;
there is no switch in the triggers that anything could set.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

from accounts.append_only import Guarding, install, missing


def all_guards() -> list[Guarding]:
    """Every guard of every floor."""
    floors = [config.models_module for config in apps.get_app_configs()]
    return [guard for floor in floors for guard in getattr(floor, "GUARDS", ())]


def _postgres_flush(flush: list[str], tables: list[str]) -> list[str]:
    off = [f'ALTER TABLE "{table}" DISABLE TRIGGER USER' for table in tables]
    on = [f'ALTER TABLE "{table}" ENABLE TRIGGER USER' for table in tables]
    return [*off, *flush, *on]


def _sqlite_flush(flush: list[str]) -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        triggers = cursor.fetchall()
    return [*(f'DROP TRIGGER "{name}"' for name, _ in triggers), *flush, *(s for _, s in triggers)]


def flush_with_guards_off(original: Callable[..., list[str]]) -> Callable[..., list[str]]:
    """Wrap an engine's `sql_flush` so that its statements switch the guards off and on."""

    def sql_flush(self: Any, style: Any, tables: Any, **options: Any) -> list[str]:
        flush = original(self, style, tables, **options)
        if not flush:
            return flush
        if connection.vendor == "postgresql":
            return _postgres_flush(flush, sorted(tables))
        return _sqlite_flush(flush)

    return sql_flush


@pytest.fixture(scope="session", autouse=True)
def _flush_guarded_tables() -> Iterator[None]:
    # On the class: a browser's event loop gives its thread another connection than the first one.
    operations = type(connection.ops)
    original = operations.sql_flush
    operations.sql_flush = flush_with_guards_off(original)  # type: ignore[method-assign]
    yield
    operations.sql_flush = original  # type: ignore[method-assign]


@pytest.fixture
def guards_on() -> Callable[[], list[str]]:
    """Give the tables whose guard is not in place; a test that empties tables asks afterwards."""
    return lambda: missing(connection, all_guards())


def behind_the_guards(*statements: str) -> None:
    """What the owner of the tables could do: switch the triggers off, write, switch them on."""
    guards = all_guards()
    with connection.cursor() as cursor:
        for guard in guards:
            for name in guard.names(connection.vendor):
                on = f" ON {guard.table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")
        for statement in statements:
            cursor.execute(statement)
    install(connection, guards)
