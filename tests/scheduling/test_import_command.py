"""`import_accounts` as the firm runs it: a bad file ends with 1, a sentence, nothing stored."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from accounts.models import AuditEvent, Branch, Contact, Customer
from sites.models import Property, TreatableZone
from tests.architecture.source import ROOT
from tests.scheduling.sheets import many, sheet
from treatments.models import HistoricTreatment

GOOD = sheet({})
HEADER, _, ROWS = GOOD.partition(b"\r\n")
STORED = (Branch, Customer, Contact, Property, TreatableZone, HistoricTreatment, AuditEvent)
Run = Callable[..., tuple[int, str]]

BAD_FILES = {
    "wrong header": (GOOD.replace(b"customer_name", b"client", 1), "customer_name: this column is"),
    "missing ZIP": (sheet({"service_zip": ""}), "line 2, column service_zip: is empty"),
    "negative run": (sheet({"wall_run_ft": "-3"}), "wall_run_ft: is negative (-3)"),
    "31 February": (sheet({"last_applied_on": "2026-02-31"}), "not a day of the calendar"),
    "unknown place": (sheet({"zone_place": "roof"}), '"roof" is not known. Write one of'),
    "formula": (sheet({"customer_name": "=1+1"}), "which a spreadsheet runs as a formula"),
    "Latin-1": (sheet({"customer_name": "Café"}, encoding="latin-1"), "byte 0xe9 is not UTF-8"),
    "empty": (b"", "the file is empty"),
    "header only": (sheet(), "a header and no rows"),
    "header twice": (GOOD + HEADER + b"\r\n", "line 3, column customer_kind"),
    "quoted line break": (sheet({"contact_name": "Pat\nDoe"}), "holds a line break"),
    "semicolons": (GOOD.replace(b",", b";"), "not separated by commas"),
    "1 MB in a cell": (sheet({"customer_name": "x" * 1_000_000}), "Check the quotation marks"),
    "zero byte": (GOOD.replace(b"Pat", b"P\0t", 1), "holds character 0x00"),
    "zero bytes only": (b"\0" * 100, "the header holds zero bytes"),
    "UTF-16": (GOOD.decode().encode("utf-16"), "is not UTF-8"),
    "UTF-16 without a mark": (GOOD.decode().encode("utf-16-le"), "the header holds zero bytes"),
    "a column twice": (b"email," + HEADER + b"\r\nx," + ROWS, "email: this column is there twice"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "byte 0x89 is not UTF-8"),
    "unclosed quote": (GOOD + b'"abc', "Check the quotation marks"),
    "10 to the 12": (sheet({"wall_run_ft": "1000000000000"}), "is not a number"),
    "hidden mark": (sheet({"customer_name": "\u200b"}), "holds character 0x200b"),
    "reversed text": (sheet({"zone_name": "\u202elaw"}), "holds character 0x202e"),
    "escape in header": (GOOD.replace(b"email", b"\x1b[2Jx", 1), "column ?[2Jx: this column"),
}


def stored() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in STORED}


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Give the command a file; its exit code and everything it said."""

    def give(raw: bytes, *options: str) -> tuple[int, str]:
        path = tmp_path / "firm.csv"
        path.write_bytes(raw)
        try:
            call_command("import_accounts", str(path), "--today", "2026-11-25", *options)
        except SystemExit as ended:
            return int(str(ended.code)), capsys.readouterr().out
        except CommandError as error:
            return error.returncode, str(error)
        return 0, capsys.readouterr().out

    return give


@pytest.mark.django_db
@pytest.mark.parametrize("kind", BAD_FILES)
def test_a_bad_file_is_named_and_nothing_is_stored(kind: str, run: Run) -> None:
    raw, sentence = BAD_FILES[kind]
    for options in ([], ["--dry-run"]):
        code, said = run(raw, *options)
        assert code == 1
        assert sentence in said
        assert "\x1b" not in said and "\0" not in said
    assert set(stored().values()) == {0}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "raw",
    [b"\xef\xbb\xbf" + GOOD, GOOD.replace(b"\r\n", b"\n"), GOOD.replace(b"\r\n", b"\r")],
    ids=["byte order mark", "LF", "CR"],
)
def test_the_same_sheet_saved_otherwise_is_known(raw: bytes, run: Run) -> None:
    assert run(GOOD)[0] == 0
    before = stored()
    assert run(raw) == (0, "firm.csv: nothing changed, 1 row known.\n")
    assert stored() == before


@pytest.mark.django_db
def test_a_changed_cell_is_taken_only_when_asked(run: Run) -> None:
    run(GOOD)
    changed = sheet({"wall_run_ft": "200"})
    before = stored()
    code, said = run(changed)
    assert (code, stored()) == (1, before)
    assert "1 cell differs from what is stored" in said
    assert run(changed, "--update", "--dry-run")[0] == 0
    assert stored() == before
    assert run(changed, "--update")[0] == 0
    assert run(changed) == (0, "firm.csv: nothing changed, 1 row known.\n")


@pytest.mark.django_db
def test_paths_that_are_no_files_are_named(tmp_path: Path) -> None:
    for path, why in ((tmp_path, "Is a directory"), (tmp_path / "none.csv", "No such file")):
        with pytest.raises(CommandError, match=f"cannot be read: {why}"):
            call_command("import_accounts", str(path))


@pytest.mark.django_db
def test_a_file_that_may_not_be_read_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The suite may run as an administrator, who may read everything."""

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(CommandError, match="cannot be read: Permission denied"):
        call_command("import_accounts", str(tmp_path / "firm.csv"))


# The import with a wire in it: the process kills itself after its first row of the last table.
KILLED = """
import os, signal, sys, django
django.setup()
from django.core.management import call_command
from django.db import connection

def kill_late(execute, sql, params, many, context):
    answer = execute(sql, params, many, context)
    if sql.startswith('INSERT INTO "treatments_historictreatment"'):
        os.kill(os.getpid(), signal.SIGKILL)
    return answer

with connection.execute_wrapper(kill_late):
    call_command("import_accounts", sys.argv[1])
"""
# tables and guards as the suite makes them: the migrations are walked by a test of their own
MADE = """
import django
from django.conf import settings
from django.core.management import call_command

django.setup()
floors = ("accounts", "sites", "treatments", "scheduling")
settings.MIGRATION_MODULES = dict.fromkeys(floors)
call_command("migrate", run_syncdb=True, verbosity=0)
"""
TABLES = ("accounts_customer", "sites_treatablezone", "treatments_historictreatment")


def test_an_import_killed_while_it_writes_leaves_nothing(tmp_path: Path) -> None:
    """A process of its own on a database of its own."""
    database, sheet_path = tmp_path / "firm.sqlite3", tmp_path / "firm.csv"
    own = os.environ | {
        "DATA_DIR": str(tmp_path),
        "DATABASE_URL": f"sqlite:///{database}",
        "DJANGO_SETTINGS_MODULE": "config.settings",
    }
    subprocess.run([sys.executable, "-c", MADE], env=own, cwd=ROOT, check=True)
    sheet_path.write_bytes(many(300))
    killed = [sys.executable, "-c", KILLED, str(sheet_path)]
    assert subprocess.run(killed, env=own, cwd=ROOT, check=False).returncode == -signal.SIGKILL
    with closing(sqlite3.connect(database)) as left:
        found = [left.execute(f"SELECT count(*) FROM {name}").fetchone()[0] for name in TABLES]
    assert found == [0, 0, 0]
