"""Database guards: rows that never change, written as triggers for SQLite and PostgreSQL.

Every write path (save, bulk, raw SQL) meets them; both engines raise what Django shows as
`IntegrityError`. They are installed after every `migrate`: on SQLite a table rebuild drops the
table's own triggers silently and stumbles over those that ask it, so there they are lifted before
one. INSERT OR REPLACE is refused by key as well as by recursive triggers.
On PostgreSQL TRUNCATE is refused too. The owner of the tables can still drop a trigger: the
runtime role must not be the owner, and the log makes what remains evident.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

NEVER = "1 = 1"


class Guarding(Protocol):
    """Anything that is installed in the database to refuse a write."""

    @property
    def table(self) -> str: ...

    def statements(self, vendor: str) -> list[str]: ...

    def names(self, vendor: str) -> list[str]: ...


@dataclass(frozen=True)
class Guard:
    """What is refused on one table.

    `update_when` and `delete_when` are SQL conditions over OLD (an update has NEW too),
    `insert_when` one over NEW (empty: allowed); `keys` are the unique keys besides the primary key
    that INSERT OR REPLACE must not overwrite.
    """

    table: str
    update_when: str = NEVER
    delete_when: str = NEVER
    insert_when: str = ""
    keys: tuple[tuple[str, ...], ...] = ()

    def statements(self, vendor: str) -> list[str]:
        """Return the SQL that installs the guard; an engine we cannot guard is an error."""
        if vendor == "sqlite":
            return _sqlite(self)
        if vendor == "postgresql":
            return _postgres(self)
        raise NotImplementedError(f"No append-only guards are written for {vendor}.")

    def names(self, vendor: str) -> list[str]:
        """Return the names of the triggers that must be in place."""
        # on SQLite an insert is looked at wherever updates are refused: see `keys`
        insert_when = self.insert_when or (vendor == "sqlite" and self.update_when)
        acts = (
            ("update", self.update_when),
            ("delete", self.delete_when),
            ("insert", insert_when),
        )
        return [f"{self.table}_keep_{act}" for act, condition in acts if condition]


def _sqlite_trigger(guard: Guard, act: str, condition: str) -> list[str]:
    name = f"{guard.table}_keep_{act.lower()}"
    return [
        f"DROP TRIGGER IF EXISTS {name}",
        f"CREATE TRIGGER {name} BEFORE {act} ON {guard.table} WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{guard.table} is append-only: {act} refused'); END",
    ]


def _taken(guard: Guard, key: tuple[str, ...]) -> str:
    match = " AND ".join(f"{column} = NEW.{column}" for column in key)
    return f"EXISTS (SELECT 1 FROM {guard.table} WHERE {match})"


def _sqlite(guard: Guard) -> list[str]:
    taken = [_taken(guard, key) for key in (("id",), *guard.keys)]
    refused = [guard.insert_when] if guard.insert_when else []
    statements = []
    if guard.update_when:
        statements += _sqlite_trigger(guard, "UPDATE", guard.update_when)
        statements += _sqlite_trigger(guard, "INSERT", " OR ".join([*taken, *refused]))
    if guard.delete_when:
        statements += _sqlite_trigger(guard, "DELETE", guard.delete_when)
    return statements


def _postgres_function(guard: Guard, act: str, condition: str) -> str:
    row = "OLD" if act in ("DELETE", "TRUNCATE") else "NEW"
    return (
        f"CREATE OR REPLACE FUNCTION {guard.table}_keep_{act.lower()}() RETURNS trigger AS $$ "
        f"BEGIN IF {condition} THEN RAISE EXCEPTION "
        f"'{guard.table} is append-only: {act} refused' USING ERRCODE = '23001'; END IF; "
        f"RETURN {row}; END $$ LANGUAGE plpgsql"
    )


def _postgres_trigger(guard: Guard, act: str, condition: str) -> list[str]:
    name = f"{guard.table}_keep_{act.lower()}"
    scope = "STATEMENT" if act == "TRUNCATE" else "ROW"
    return [
        _postgres_function(guard, act, condition),
        f"DROP TRIGGER IF EXISTS {name} ON {guard.table}",
        f"CREATE TRIGGER {name} BEFORE {act} ON {guard.table} "
        f"FOR EACH {scope} EXECUTE FUNCTION {name}()",
    ]


def _postgres(guard: Guard) -> list[str]:
    statements = []
    if guard.update_when:
        statements += _postgres_trigger(guard, "UPDATE", guard.update_when)
    if guard.delete_when:
        statements += _postgres_trigger(guard, "DELETE", guard.delete_when)
        statements += _postgres_trigger(guard, "TRUNCATE", NEVER)
    if guard.insert_when:
        statements += _postgres_trigger(guard, "INSERT", guard.insert_when)
    return statements


def install(connection: Any, guards: Iterable[Guarding]) -> None:
    """Install the guards on one database, replacing older versions of themselves."""
    with connection.cursor() as cursor:
        for guard in guards:
            for statement in guard.statements(connection.vendor):
                cursor.execute(statement)


def lift(connection: Any, guards: Iterable[Guarding]) -> None:
    """Take SQLite's triggers away before its tables are rebuilt.

    A trigger that asks another table makes SQLite refuse the rebuild of that table. PostgreSQL
    alters in place and keeps its guards.
    """
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        for guard in guards:
            for name in guard.names(connection.vendor):
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}")


_INSTALLED = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D' "
        "UNION SELECT conname FROM pg_constraint"
    ),
}


def missing(connection: Any, guards: Iterable[Guarding]) -> list[str]:
    """Return the tables of which a guard is not in place."""
    with connection.cursor() as cursor:
        cursor.execute(_INSTALLED[connection.vendor])
        present = {name for (name,) in cursor.fetchall()}
    return [
        guard.table for guard in guards if not present.issuperset(guard.names(connection.vendor))
    ]
