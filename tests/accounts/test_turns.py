"""Writers of the embedded database wait in turn, and nobody who died keeps the others out."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Timer
from time import monotonic
from typing import Any

import pytest
from django.db import OperationalError
from django.db.utils import load_backend

from config.sqlite_in_turn.base import FIRST_PAUSE_S, LEAST_PAUSE_S, pause_after

HOLD = """
import sqlite3, sys, time
held = sqlite3.connect(sys.argv[1], isolation_level=None)
held.execute("PRAGMA journal_mode=WAL")
held.execute("BEGIN IMMEDIATE")
print("held", flush=True)
time.sleep(60)
"""


@pytest.fixture
def holder(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that has begun to write and does not end by itself."""
    command = [sys.executable, "-c", HOLD, str(tmp_path / "db")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as held:
        assert held.stdout is not None
        assert held.stdout.readline() == "held\n"
        yield held
        held.kill()


@pytest.fixture
def connect(tmp_path: Path, django_db_blocker: Any) -> Iterator[Any]:
    """A function that connects to the same file with so many seconds of patience."""
    made: list[Any] = []

    def connected(timeout: float) -> Any:
        settings = {
            "ENGINE": "config.sqlite_in_turn",
            "NAME": str(tmp_path / "db"),
            "OPTIONS": {"transaction_mode": "IMMEDIATE", "timeout": timeout},
            "TIME_ZONE": None,
            "CONN_MAX_AGE": 0,
            "CONN_HEALTH_CHECKS": False,
            "AUTOCOMMIT": True,
        }
        made.append(load_backend("config.sqlite_in_turn").DatabaseWrapper(settings, alias="turns"))
        return made[-1]

    with django_db_blocker.unblock():
        yield connected
        for one in made:
            one.close()


def begin(connection: Any) -> float:
    """Begin a transaction as `atomic` does; how long that took, in seconds."""
    begun = monotonic()
    connection.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)
    return monotonic() - begun


def test_a_writer_who_is_killed_frees_the_others(
    holder: subprocess.Popen[str], connect: Any
) -> None:
    waiting = connect(timeout=30)
    Timer(0.3, holder.kill).start()
    assert 0.2 < begin(waiting) < 30
    waiting.cursor().execute("CREATE TABLE written (id integer)")
    waiting.commit()


def test_who_waits_too_long_is_told(holder: subprocess.Popen[str], connect: Any) -> None:
    waiting = connect(timeout=0.3)
    with pytest.raises(OperationalError, match="locked"):
        begin(waiting)
    assert holder.poll() is None


def test_other_statements_keep_the_patience_of_the_settings(connect: Any) -> None:
    free = connect(timeout=7)
    begin(free)
    assert free.cursor().execute("PRAGMA busy_timeout").fetchone() == (7000,)
    free.rollback()


def test_what_is_not_a_lock_is_raised_at_once(connect: Any) -> None:
    free = connect(timeout=30)
    begin(free)
    begun = monotonic()
    with pytest.raises(OperationalError, match="within a transaction"):
        free._start_transaction_under_autocommit()
    assert monotonic() - begun < 10
    free.rollback()


@pytest.mark.parametrize(
    ("waited", "pause"), [(0.0, FIRST_PAUSE_S), (2.0, LEAST_PAUSE_S), (60.0, LEAST_PAUSE_S)]
)
def test_the_pause_shrinks_while_one_waits(waited: float, pause: float) -> None:
    assert pause_after(waited) == pytest.approx(pause)


def test_who_has_waited_longer_never_pauses_longer() -> None:
    pauses = [pause_after(waited / 50) for waited in range(200)]
    assert pauses == sorted(pauses, reverse=True)
    assert min(pauses) > 0
