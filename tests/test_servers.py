"""The throwaway servers answer, and are gone afterwards however their caller ended."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psycopg
import pytest
import redis

from tests.architecture.source import ROOT
from tests.servers import ServerMissing, kept_servers

pytestmark = pytest.mark.services
KILLED = """
import os, signal
from tests.servers import kept_servers
with kept_servers() as addresses:
    print(addresses["DATABASE_URL"], flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


def _is_up(address: str) -> bool:
    try:
        psycopg.connect(address, connect_timeout=2).close()
    except psycopg.OperationalError:
        return False
    return True


def test_both_servers_answer_and_are_gone_afterwards() -> None:
    with kept_servers() as addresses:
        with psycopg.connect(addresses["DATABASE_URL"]) as database:
            database.execute("CREATE EXTENSION btree_gist")
        broker = redis.Redis.from_url(addresses["REDIS_URL"])
        assert broker.ping()
    assert not _is_up(addresses["DATABASE_URL"])
    with pytest.raises(redis.ConnectionError):
        broker.ping()


def test_the_servers_end_with_a_caller_that_was_killed() -> None:
    run = subprocess.run([sys.executable, "-c", KILLED], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == -signal.SIGKILL, run.stderr
    until = time.monotonic() + 15
    while _is_up(run.stdout.strip()) and time.monotonic() < until:
        time.sleep(0.1)
    assert not _is_up(run.stdout.strip())


def test_a_missing_server_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(os.environ, "PG_BINDIR", str(tmp_path))
    with pytest.raises(ServerMissing, match="PG_BINDIR"), kept_servers():
        pytest.fail("servers without binaries")
