"""A house of its own for the pictures: the demo firm in a temporary folder, served by gunicorn."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
READY_WITHIN_S = 60


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def enter(folder: Path, port: int) -> str:
    """Point this process and its children at the house and give its address."""
    address = f"http://127.0.0.1:{port}"
    os.environ.update(
        DJANGO_SETTINGS_MODULE="config.settings",
        DATA_DIR=str(folder),
        DATABASE_URL=f"sqlite:///{folder / 'eaveline.sqlite3'}",
        REDIS_URL="",
        BASE_URL=address,
        DEMO="True",
        DEBUG="False",
        HASHED_STATIC="False",
        EMAIL_URL="consolemail://",
        # Playwright runs its own event loop in the thread that also uses the ORM.
        DJANGO_ALLOW_ASYNC_UNSAFE="true",
    )
    return address


def seed() -> None:
    """Make the demo firm and run its round, without serving it."""
    subprocess.run([sys.executable, "manage.py", "demo", "--no-serve"], cwd=ROOT, check=True)


@contextmanager
def serving(port: int, log: Path) -> Iterator[None]:
    """Serve the house until the pictures are taken."""
    command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"127.0.0.1:{port}"]
    with log.open("wb") as out:
        server = subprocess.Popen([*command, "--threads", "4"], cwd=ROOT, stdout=out, stderr=out)
        try:
            _wait_for(port, server, log)
            yield
        finally:
            server.terminate()
            server.wait(timeout=20)


def _wait_for(port: int, server: subprocess.Popen[bytes], log: Path) -> None:
    until = time.monotonic() + READY_WITHIN_S
    while time.monotonic() < until and server.poll() is None:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError(f"the server did not come up:\n{log.read_text()[-2000:]}")


@contextmanager
def demo_house() -> Iterator[str]:
    """Give the address of a served demo firm; its folder is removed afterwards."""
    folder, port = Path(tempfile.mkdtemp(prefix="eaveline-screens-")), _free_port()
    try:
        address = enter(folder, port)
        seed()
        with serving(port, folder / "server.log"):
            yield address
    finally:
        shutil.rmtree(folder, ignore_errors=True)
