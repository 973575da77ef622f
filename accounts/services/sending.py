"""Sending what waits, by the mail backend of Django; called by the sweep and by a worker alike.

A notice is claimed by compare and set, and the claim is committed before the mail server hears of
it: of many senders one sends. Whoever dies between the two leaves a claim behind; whether the mail
server took that one cannot be known, so nobody sends it again but a person. That is the one
doubtful case.
"""

from __future__ import annotations

import logging
import re
import smtplib
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.db.models import F

from accounts.models import Notice, NoticeEvidence
from accounts.rules.notice_text import LINK_PLACE
from accounts.rules.notices import GIVE_UP_AFTER, IN_DOUBT, NOT_SENT, Evidence, State, wait_after
from accounts.services.audit import close_items, open_item
from accounts.services.contact_links import link_for_notice

log = logging.getLogger("accounts.notices")
MOST_AT_ONCE = 500
RUN_LASTS_S = 300  # a worker is ended after ten minutes; what is left waits for the next run
# no run lasts as long: a claim this old was left behind
LEFT_BEHIND = "The program stopped while sending; it may have gone out."
CLAIM_LASTS = timedelta(minutes=30)
NOWHERE = frozenset(
    f"django.core.mail.backends.{name}.EmailBackend" for name in ("console", "dummy")
)
CALL_US = "(call us for your link)"
ADDRESS = re.compile(r"\S+@\S+")


@dataclass(frozen=True)
class Sent:
    """What one run did; `is_down` when the mail server did not answer."""

    taken: int = 0
    refused: int = 0
    later: int = 0
    doubtful: int = 0
    is_down: bool = False

    @property
    def sentence(self) -> str:
        """What was done, in words; empty when there was nothing."""
        told = (
            (self.taken, "taken by the mail server"),
            (self.refused, "refused or given up"),
            (self.later, "to be tried later"),
            (self.doubtful, "perhaps sent, for a person to decide"),
        )
        parts = [f"{number} {words}" for number, words in told if number]
        parts += ["the mail server does not answer; the rest waits"] if self.is_down else []
        return f"Notices: {', '.join(parts)}." if parts else ""


def send_due(*, now: datetime) -> Sent:
    """Send every notice whose time has come; run twice at once each is still sent once.

    When the mail server does not answer, nothing more is claimed: everything waits where it is, as
    it does while none is set.
    """
    tally: Counter[str] = Counter(doubtful=_doubt(now))
    if due_keys := [] if goes_nowhere() else list(_due(now)):
        connection = get_connection(fail_silently=False)
        if _opened(connection):
            tally += _send_all(due_keys, connection, now)
        else:
            tally["down"] += 1
        _close(connection)
    return Sent(
        tally["taken"],
        tally["refused"],
        tally["later"],
        tally["doubtful"],
        is_down=tally["down"] > 0,
    )


def _send_all(keys: list[int], connection: Any, now: datetime) -> Counter[str]:
    tally: Counter[str] = Counter()
    ends = time.monotonic() + RUN_LASTS_S
    for key in keys:
        outcome = _send_one(key, connection, now)
        tally[outcome] += 1
        if outcome == "down" or time.monotonic() > ends:
            break
    return tally


def goes_nowhere() -> bool:
    """Whether no mail server is set: what a console prints was taken by nobody."""
    return settings.EMAIL_BACKEND in NOWHERE


def _due(now: datetime) -> Iterator[int]:
    rows = Notice.objects.filter(state=State.WAITING, next_try_at__lte=now)
    yield from rows.order_by("next_try_at", "pk").values_list("pk", flat=True)[:MOST_AT_ONCE]


def _opened(connection: Any) -> bool:
    try:
        connection.open()
    except OSError as failure:  # smtplib's errors are of this kind too
        log.warning("The mail server does not answer: %s", type(failure).__name__)
        return False
    return True


def _close(connection: Any) -> None:
    try:
        connection.close()
    except OSError as failure:
        log.warning("The mail server hung up: %s", type(failure).__name__)


def _claimed(key: int, now: datetime) -> Notice | None:
    """The notice when it is ours to send: the claim is committed before anything is sent."""
    with transaction.atomic(durable=True):
        mine = Notice.objects.filter(pk=key, state=State.WAITING, next_try_at__lte=now)
        if not mine.update(state=State.SENDING, claimed_at=now, attempts=F("attempts") + 1):
            return None
    return Notice.objects.get(pk=key)


def _send_one(key: int, connection: Any, now: datetime) -> str:
    notice = _claimed(key, now)
    if notice is None:
        return "somebody_else"
    try:
        message_of(notice, connection, link_for_notice(notice, now)).send()
    except smtplib.SMTPRecipientsRefused as refused:
        code, answer = next(iter(refused.recipients.values()))
        return _not_taken(notice, code, _said(code, answer), now)
    except smtplib.SMTPResponseException as refused:
        answered = _said(refused.smtp_code, refused.smtp_error)
        # a refused sender or sign-in is ours to put right, not the customer's address
        is_theirs = isinstance(refused, smtplib.SMTPDataError)
        return _not_taken(notice, refused.smtp_code if is_theirs else 0, answered, now)
    except OSError as failure:  # smtplib's errors are of this kind too
        _not_taken(notice, 0, type(failure).__name__, now)
        return "later" if _is_of_this_one(failure) else "down"
    except ValueError as failure:
        return _failed(notice, f"It cannot be made into a message: {type(failure).__name__}.")
    return _taken(notice, now)


def _is_of_this_one(failure: OSError) -> bool:
    """Whether the mail server still answers after it, so that the next notice may be tried."""
    is_answer = isinstance(failure, smtplib.SMTPException)
    return is_answer and not isinstance(failure, smtplib.SMTPServerDisconnected)


def message_of(notice: Notice, connection: Any = None, url: str = "") -> EmailMessage:
    """The notice as a message; its own Message-ID, so that a second one can be told.

    `url` takes the place of the link; it stands in no table.
    """
    digest = sha256(f"{notice.unique_key} {settings.SECRET_KEY}".encode()).hexdigest()[:32]
    message = EmailMessage(
        subject=notice.subject,
        body=notice.body.replace(LINK_PLACE, url or CALL_US),
        to=[notice.to_email],
        connection=connection,
        headers={
            "Message-ID": f"<{digest}.{notice.attempts}@{settings.HOST}>",
            "Auto-Submitted": "auto-generated",  # RFC 3834, 5: no holiday answers
        },
    )
    if notice.attachment is not None:
        content = bytes(notice.attachment)
        message.attach(notice.attachment_name, content, notice.attachment_type)
    return message


def _said(code: int, answer: object) -> str:
    """550 no such user; without addresses, which are personal."""
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else str(answer)
    return ADDRESS.sub("(address)", f"{code} {' '.join(text.split())}")[:200]


@transaction.atomic
def _taken(notice: Notice, now: datetime) -> str:
    answer = f"accepted for sending by {settings.EMAIL_HOST or 'the mail backend'}"[:200]
    _mark(notice, state=State.TAKEN, last_answer=answer, next_try_at=None)
    NoticeEvidence.objects.create(notice=notice, kind=Evidence.TAKEN, at=now, said=answer)
    for code in (IN_DOUBT, NOT_SENT):
        close_items(code=code, thing=notice, note="Sent again.", now=now)
    return "taken"


@transaction.atomic
def _not_taken(notice: Notice, code: int, answer: str, now: datetime) -> str:
    """A permanent answer (5yz, RFC 5321, 4.2.1) ends it; anything else is tried again later."""
    if 500 <= code < 600:
        _mark(notice, state=State.REFUSED, last_answer=answer, next_try_at=None)
        NoticeEvidence.objects.create(notice=notice, kind=Evidence.BOUNCED, at=now, said=answer)
        said = _told(notice, f"The mail server refused it: {answer}")
        open_item(branch_id=notice.branch_id, code=NOT_SENT, thing=notice, sentence=said)
        return "refused"
    if now - (notice.waits_since or notice.created_at) > GIVE_UP_AFTER:
        return _failed(notice, f"The mail server did not take it for five days: {answer}.")
    later = now + wait_after(notice.attempts)
    _mark(notice, state=State.WAITING, last_answer=answer, next_try_at=later, claimed_at=None)
    return "later"


@transaction.atomic
def _failed(notice: Notice, why: str) -> str:
    _mark(notice, state=State.FAILED, last_answer=why[:200], next_try_at=None)
    open_item(branch_id=notice.branch_id, code=NOT_SENT, thing=notice, sentence=_told(notice, why))
    return "refused"


def _mark(notice: Notice, **columns: object) -> None:
    Notice.objects.filter(pk=notice.pk).update(**columns)


def _told(notice: Notice, what: str) -> str:
    next_step = "Open it, then send it again or give it another way."
    return f"{notice.get_kind_display()} {notice.pk}: {what} {next_step}"


@transaction.atomic
def _doubt(now: datetime) -> int:
    """Claims that were left behind: perhaps sent, perhaps not, never sent again by itself."""
    left = Notice.objects.filter(state=State.SENDING, claimed_at__lt=now - CLAIM_LASTS)
    doubtful = list(left.order_by("pk"))
    for notice in doubtful:
        still = Notice.objects.filter(pk=notice.pk, state=State.SENDING)
        if still.update(state=State.DOUBTFUL):
            sentence = _told(notice, LEFT_BEHIND)
            open_item(branch_id=notice.branch_id, code=IN_DOUBT, thing=notice, sentence=sentence)
    return len(doubtful)
