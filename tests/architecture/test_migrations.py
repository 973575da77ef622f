"""The tables and the migrations say the same.

The suite makes its tables straight from the models, which takes a third of the time; so one test
for each engine walks every migration on an empty database and compares what comes out.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

import pytest
from django.db import connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from accounts.append_only import missing
from tests.architecture.source import ROOT
from tests.guards_off import all_guards

OURS = ("accounts_", "sites_", "treatments_", "scheduling_")


def _constraints(found: dict[str, Any]) -> list[str]:
    """Give constraints by name; SQLite numbers those without one in the order they were added."""
    named = (("" if name.startswith("__unnamed") else name, what) for name, what in found.items())
    return sorted(f"{name} {sorted(what.items())}" for name, what in named)


def _tables(database: BaseDatabaseWrapper) -> dict[str, Any]:
    """Give columns and constraints of our tables, without the order they were added in."""
    read = database.introspection
    with database.cursor() as cursor:
        return {
            name: (
                {tuple(column)[:6] for column in read.get_table_description(cursor, name)},
                _constraints(read.get_constraints(cursor, name)),
            )
            for name in read.table_names(cursor)
            if name.startswith(OURS)
        }


@pytest.fixture
def empty_database(tmp_path: Path, transactional_db: None) -> Iterator[BaseDatabaseWrapper]:
    """Another database of the same engine, with nothing in it."""
    name = f"walked_{Path(connection.settings_dict['NAME']).name}"
    if connection.vendor == "sqlite":
        other = {"NAME": str(tmp_path / name)}
    else:
        other = {"NAME": name}
        _say(f'CREATE DATABASE "{name}"')
    walked = type(connections["default"])(connection.settings_dict | other, alias="default")
    yield walked
    walked.close()
    if connection.vendor == "postgresql":
        _say(f'DROP DATABASE "{name}"')


def _say(sentence: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sentence)


def _manage(*words: str, url: str = os.environ["DATABASE_URL"]) -> None:
    """Run a command in a process of its own: in this one, migrations are switched off."""
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        env=os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "config.settings"},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _url(database: BaseDatabaseWrapper) -> str:
    place = str(database.settings_dict["NAME"])
    if database.vendor == "sqlite":
        return f"sqlite:///{place}"
    return urlunsplit(urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{place}"))


def test_no_change_of_a_model_is_without_its_migration() -> None:
    _manage("makemigrations", "--check", "--dry-run")


@pytest.mark.engine
def test_every_migration_in_turn_gives_the_tables_of_the_models(
    empty_database: BaseDatabaseWrapper,
) -> None:
    _manage("migrate", "--verbosity=0", url=_url(empty_database))
    assert _tables(empty_database) == _tables(connection)
    assert missing(empty_database, all_guards()) == []
