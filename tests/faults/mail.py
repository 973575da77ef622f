"""The mail server is down for an hour: nothing lost, nothing sent twice by us.

A real server of the mail protocol on 127.0.0.1 goes away in the middle of the day; four senders go
on every five minutes as the workers do. What it took is counted by Message-ID.
"""

from __future__ import annotations

import random
import re
import socket
import socketserver
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

from django.db import connections
from django.test.utils import override_settings

from accounts.models import Notice, Person
from accounts.services.sending import send_due
from tests.factories import (
    make_customer,
    make_label,
    make_person,
    make_property,
    make_record,
    make_zone,
)
from tests.notices import make_notice

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
STEP, HOUR = timedelta(minutes=5), timedelta(hours=1)
MESSAGE_ID = re.compile(rb"^Message-ID: *(\S+)", re.IGNORECASE | re.MULTILINE)


class _Talk(socketserver.StreamRequestHandler):
    """One conversation by RFC 5321: enough of it to take a message."""

    server: MailServer

    def handle(self) -> None:
        self.wfile.write(b"220 here\r\n")
        for raw in self.rfile:
            word = raw[:4].upper()
            if self.server.is_down:
                return  # it hangs up in the middle of a conversation
            if word == b"DATA":
                self.wfile.write(b"354 go on\r\n")
                self._take()
            self.wfile.write(b"221 bye\r\n" if word == b"QUIT" else b"250 OK\r\n")
            if word == b"QUIT":
                return

    def _take(self) -> None:
        lines = []
        for raw in self.rfile:
            if raw == b".\r\n":
                break
            lines.append(raw)
        found = MESSAGE_ID.search(b"".join(lines))
        with self.server.lock:
            self.server.taken.append(found.group(1).decode() if found else "")


class MailServer(socketserver.ThreadingTCPServer):
    """A mail server that can be down: then it hangs up at once."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.taken: list[str] = []
        self.is_down = False
        self.lock = threading.Lock()

    def verify_request(
        self, request: socket.socket | tuple[bytes, socket.socket], who: object
    ) -> bool:
        return not self.is_down


def _send(now: datetime) -> int:
    try:
        return send_due(now=now).taken
    finally:
        connections.close_all()


def _one_round(server: MailServer, notices: int, senders: int, dice: random.Random) -> None:
    people = Person.objects.filter(email="faults@firm.example")
    who = people.first() or make_person(email="faults@firm.example")
    place = make_property(make_customer(who.branch))
    record = make_record(make_zone(place), who, make_label())
    before, first = len(server.taken), Notice.objects.count()
    at = sorted(dice.randrange(0, 90) for _ in range(notices))
    made = [make_notice(record, next_try_at=NOON + timedelta(minutes=m)) for m in at]
    with ThreadPoolExecutor(senders) as pool:
        for step in range(60):
            now = NOON + step * STEP
            server.is_down = HOUR / 2 <= now - NOON < HOUR * 1.5
            list(pool.map(_send, [now] * senders))
    took = server.taken[before:]
    assert Notice.objects.count() == first + notices
    states = Notice.objects.filter(pk__in=[one.pk for one in made]).values_list("state", flat=True)
    assert set(states) == {"taken"}, f"not all went out: {sorted(states)}"
    assert len(took) == len(set(took)) == notices, f"{len(took)} taken, {len(set(took))} different"


def run(*, rounds: int = 20, seed: int = 1, notices: int = 40, senders: int = 4) -> Iterator[str]:
    """So many rounds on the database of the settings; each fails loudly."""
    dice = random.Random(seed)
    with MailServer() as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        host, port = server.server_address[:2]
        settled = override_settings(
            EMAIL_BACKEND="django.core.mail.backends.smtp.EmailBackend",
            EMAIL_HOST=str(host), EMAIL_PORT=port, EMAIL_HOST_USER="", EMAIL_HOST_PASSWORD="",
            EMAIL_USE_TLS=False, EMAIL_USE_SSL=False, EMAIL_TIMEOUT=10,
        )  # fmt: skip
        with settled:
            for one in range(rounds):
                _one_round(server, notices, senders, dice)
                if one % 5 == 0:
                    yield f"mail: round {one + 1} of {rounds} (seed {seed}): {notices} of {notices}"
        server.shutdown()
        total = len(server.taken)
        yield f"mail: {rounds} rounds, {total} messages, none lost, none twice"


def full(*, rounds: int, seed: int) -> tuple[bool, str]:
    """Full rounds; each fails loudly, so that the last line is what was counted."""
    return True, list(run(rounds=rounds, seed=seed))[-1]
