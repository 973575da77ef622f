"""Signing the heads of the logs and bringing them outside the database."""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction

from accounts.selectors.audit import events_about
from accounts.services.audit import name_of, note_event, open_item
from treatments.models import LogFrontier, SignedHead
from treatments.reports.log_head_mail import head_subject, head_text
from treatments.rules.leaves import instant
from treatments.rules.log_tree import Frontier
from treatments.rules.signed_heads import Head, fingerprint
from treatments.selectors.log_heads import head_of, signatures_of
from treatments.selectors.log_keys import public_hex
from treatments.selectors.log_outside import outside_lines, outside_path
from treatments.services.log_keys import signing_key

if TYPE_CHECKING:
    from accounts.models import Branch

log = logging.getLogger("treatments.log_heads")
MAILED = "mail_log_head"


@dataclass(frozen=True)
class Signing:
    """What one run signed, with which key, and what could not be done, in sentences."""

    key: str
    signed: tuple[SignedHead, ...]
    failures: tuple[str, ...]


def sign_heads(*, now: datetime) -> Signing:
    """Sign a head of each log that grew, or was not signed today; bring every head outside.

    The same day again signs nothing when nothing grew. A head that could not be written or mailed
    is written or mailed by the next run. Nothing is signed over a log that became shorter or with
    a key the log does not know: that opens an item. Refused without the key that signed before.
    """
    key = signing_key()
    signed: list[SignedHead] = []
    failures: list[str] = []
    for begun in LogFrontier.objects.select_related("branch").order_by("branch_id"):
        branch = begun.branch
        head = _sign(branch, key, now)
        signed += [head] if isinstance(head, SignedHead) else []
        failures += [head] if isinstance(head, str) else []
        failures += [*_write_outside(branch), *_mail(branch, now)]
    for failure in failures:
        log.warning("%s", failure)
    return Signing(fingerprint(public_hex(key)), tuple(signed), tuple(failures))


@transaction.atomic
def _sign(branch: Branch, key: Ed25519PrivateKey, now: datetime) -> SignedHead | str | None:
    """The new head, why there can be none, or None when the last one still says it all."""
    frontier = LogFrontier.objects.select_for_update().get(branch=branch)
    last = SignedHead.objects.filter(branch=branch).order_by("-pk").first()
    if last and last.size == frontier.size and _day(last.at, branch) == _day(now, branch):
        return None
    if why_not := _why_not(branch, frontier, last, fingerprint(public_hex(key))):
        open_item(branch_id=branch.pk, code="log_not_signed", thing=branch, sentence=why_not)
        return why_not
    at = max(now, frontier.last_at or now)
    head = _signed(frontier, key, instant(at))
    return SignedHead.objects.create(
        branch=branch,
        size=head.size,
        root=head.root,
        at=at,
        key_fingerprint=head.key,
        public_key=head.public_key,
        signature=head.signature,
    )


def _why_not(branch: Branch, frontier: LogFrontier, last: SignedHead | None, key: str) -> str:
    if last and last.size > frontier.size:
        return (
            f"The log of {branch.name} counts {frontier.size} leaves and was signed over "
            f"{last.size}: leaves are missing. Run manage.py verify_log and follow what it says."
        )
    known = signatures_of(branch.pk).last_key
    if known and known != key:
        return (
            f"The log of {branch.name} is signed by the key {known[:16]}, and the key file holds "
            f"{key[:16]}. Put the right file back; a key is changed by manage.py rotate_log_key."
        )
    return ""


def _day(at: datetime, branch: Branch) -> object:
    return at.astimezone(ZoneInfo(branch.time_zone)).date()


def _signed(frontier: LogFrontier, key: Ed25519PrivateKey, at: str) -> Head:
    root = Frontier.from_hex(frontier.size, frontier.nodes).root.hex()
    public = public_hex(key)
    head = Head(frontier.branch_id, frontier.size, root, at, fingerprint(public), public)
    signature = key.sign(head.message).hex()
    return Head(head.branch, head.size, head.root, head.at, head.key, public, signature)


def _write_outside(branch: Branch) -> Iterator[str]:
    """Add every head that is not outside yet, whoever failed to write it before."""
    outside = {line.head.signature for line in outside_lines(branch.pk) if line.head}
    rows = SignedHead.objects.filter(branch=branch).order_by("pk")
    missing = [head_of(row) for row in rows if row.signature not in outside]
    try:
        if missing:
            _append(outside_path(branch.pk), b"".join(head.line() for head in missing))
    except OSError as failure:
        yield f"Heads of {branch.name} could not be written outside the database: {failure}."


def _append(path: Path, lines: bytes) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    with os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o600), "r+b") as file:
        end = file.seek(0, os.SEEK_END)
        if end:
            file.seek(end - 1)
            lines = lines if file.read(1) == b"\n" else b"\n" + lines  # after a torn line
        file.write(lines)
        file.flush()
        os.fsync(file.fileno())


def _mail(branch: Branch, now: datetime) -> Iterator[str]:
    """Mail the newest head once a day; what the mail server did not take is tried again."""
    last = SignedHead.objects.filter(branch=branch).order_by("-pk").first()
    mailed = events_about([name_of(branch)], [MAILED]).order_by("-at").first()
    if not (settings.LOG_HEADS_EMAIL and last):
        return
    if mailed and _day(mailed.at, branch) == _day(now, branch):
        return
    head, to = head_of(last), settings.LOG_HEADS_EMAIL
    try:
        send_mail(head_subject(branch.name, head), head_text(branch.name, head), None, to)
    except OSError as failure:  # no server, no route, or a refusal in its own protocol
        yield f"The head of {branch.name} could not be mailed: {failure}."
        return
    note_event(by=None, act=MAILED, thing=branch, now=now, size=head.size)
