"""Serving the embedded install: gunicorn as a child, this process as the scheduler."""

from __future__ import annotations

import ipaddress
import logging
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from types import FrameType

from django.apps import apps
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection

from accounts import append_only
from accounts.refusals import Refused
from sites.services.identification_key import load_key
from treatments.rules.signed_heads import fingerprint
from treatments.selectors.log_keys import key_path, public_hex, read_key
from treatments.services.log_keys import signing_key
from treatments.services.profiles import load_profiles

log = logging.getLogger("scheduling.serving")
SWEEP_EVERY_S = 15 * 60


def prepare() -> None:
    """Migrate, gather static files, refuse without guards, load new rules and the key."""
    call_command("migrate", verbosity=0, interactive=False)
    if settings.HASHED_STATIC:
        call_command("collectstatic", verbosity=0, interactive=False)
    _refuse_without_guards()
    load_profiles()
    load_key()


def tell_key(say: Callable[[str], object]) -> None:
    """Make the key of the log at the first start and say its fingerprint; refuse without it."""
    is_first = read_key(key_path()) is None
    try:
        name = fingerprint(public_hex(signing_key()))
    except Refused as refused:
        raise CommandError(refused.sentence) from refused
    if is_first:
        say(f"Key of the log, made now in {key_path()}: {name}")
        say("Write it down outside this machine: inspection bundles are checked against it.")


def _refuse_without_guards() -> None:
    guards = [
        guard
        for app in apps.get_app_configs()
        for guard in getattr(app.models_module, "GUARDS", ())
    ]
    missing = append_only.missing(connection, guards)
    if missing:
        raise CommandError(
            f"The guards of {', '.join(missing)} are not in place. Run migrate as the owner of "
            "the tables, then start again; records could be changed unseen without them."
        )


def refuse_open_http(host: str, allowed: bool) -> None:
    """Refuse to answer plain http on an address that other machines reach."""
    is_local = host == "localhost" or _address(host).is_loopback
    if not (is_local or settings.HTTPS or allowed):
        raise CommandError(
            f"{host} can be reached by other machines and the address is plain http: passwords "
            "would travel in the clear. Set BASE_URL to https://..., or say --plain-http."
        )


def _address(host: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address:
    try:
        return ipaddress.ip_address(host)
    except ValueError as failure:
        raise CommandError(
            f"{host[:60]!r} is not an address of this machine. Give a number like 127.0.0.1."
        ) from failure


def gunicorn(host: str, port: int) -> subprocess.Popen[bytes]:
    """Start the web server as a child: two workers of four threads, renewed now and then."""
    options = ["-w", "2", "--threads", "4", "--timeout", "60", "--graceful-timeout", "30"]
    options += ["--max-requests", "2000", "--max-requests-jitter", "200"]
    command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"{host}:{port}"]
    return subprocess.Popen([*command, *options])


def serve(host: str, port: int) -> int:
    """Serve until told to stop or until the web server ends; return its exit code."""
    child = gunicorn(host, port)

    def stop(number: int, frame: FrameType | None) -> None:
        child.send_signal(number)

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    next_sweep = time.monotonic()
    while child.poll() is None:
        if time.monotonic() >= next_sweep:
            _sweep()
            _sign_heads()
            next_sweep = time.monotonic() + SWEEP_EVERY_S
        time.sleep(0.5)
    return child.returncode


def _sweep() -> None:
    """Run the sweep; a busy database costs this round only, the next one derives the same work."""
    try:
        call_command("sweep", verbosity=0)
    except DatabaseError:
        log.exception("The sweep could not run; it will run again in 15 minutes.")


def _sign_heads() -> None:
    """Sign what grew; what could not be done is in the log and under Needs attention."""
    try:
        call_command("sign_heads", verbosity=0)
    except (DatabaseError, CommandError):
        log.exception("Heads of the log could not be signed; they will be in 15 minutes.")
