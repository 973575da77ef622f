"""The guard against two planned visits of one technician at the same instant.

PostgreSQL has an exclusion constraint; SQLite a trigger. A check in code before the write lets
pairs through under load; the database does not.
"""

from __future__ import annotations

from dataclasses import dataclass

MESSAGE = "visit_no_overlap"


@dataclass(frozen=True)
class NoOverlap:
    """Rows of `table` with the same `owner` may not overlap in [starts_at, ends_at).

    Rows without planned times and rows in state `dropped` stand outside the guard.
    """

    table: str
    owner: str
    dropped: str

    def statements(self, vendor: str) -> list[str]:
        """Return the SQL that installs the guard; an engine we cannot guard is an error."""
        if vendor == "sqlite":
            return [*self._sqlite("INSERT"), *self._sqlite("UPDATE")]
        if vendor == "postgresql":
            return self._postgres()
        raise NotImplementedError(f"No overlap guard is written for {vendor}.")

    def names(self, vendor: str) -> list[str]:
        """Return the names of what must be in place."""
        if vendor == "postgresql":
            return [MESSAGE]
        return [f"{MESSAGE}_insert", f"{MESSAGE}_update"]

    def _sqlite(self, act: str) -> list[str]:
        name = f"{MESSAGE}_{act.lower()}"
        return [
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} BEFORE {act} ON {self.table} "
            f"WHEN NEW.starts_at IS NOT NULL AND NEW.state <> '{self.dropped}' AND EXISTS ("
            f"SELECT 1 FROM {self.table} o WHERE o.{self.owner} = NEW.{self.owner} "
            f"AND o.id <> COALESCE(NEW.id, -1) AND o.state <> '{self.dropped}' "
            f"AND o.starts_at < NEW.ends_at AND o.ends_at > NEW.starts_at) "
            f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END",
        ]

    def _postgres(self) -> list[str]:
        return [
            "CREATE EXTENSION IF NOT EXISTS btree_gist",
            f"ALTER TABLE {self.table} DROP CONSTRAINT IF EXISTS {MESSAGE}",
            f"ALTER TABLE {self.table} ADD CONSTRAINT {MESSAGE} EXCLUDE USING gist ("
            f"{self.owner} WITH =, tstzrange(starts_at, ends_at, '[)') WITH &&) "
            f"WHERE (starts_at IS NOT NULL AND state <> '{self.dropped}')",
        ]
