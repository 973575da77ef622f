"""Sending what waits: each once, nothing lost while the mail server is down, doubt is said."""

from __future__ import annotations

import smtplib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier, Lock
from typing import Any

import pytest
from django.core import mail
from django.core.mail.backends.base import BaseEmailBackend
from django.db import connection

from accounts.models import Notice, OpenItem, Person
from accounts.refusals import Refused
from accounts.services.notices import note_evidence, send_again
from accounts.services.sending import send_due
from tests.factories import (
    make_customer,
    make_label,
    make_property,
    make_record,
    make_zone,
)
from tests.notices import make_notice
from treatments.models import ApplicationRecord

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
HERE = "tests.accounts.test_sending"


class Down(BaseEmailBackend):
    """A mail server that does not answer."""

    def open(self) -> bool:
        raise ConnectionRefusedError


class Counting(BaseEmailBackend):
    """A mail server that counts what it was given, over all threads."""

    given = 0
    lock = Lock()

    def send_messages(self, messages: Any) -> int:
        with Counting.lock:
            Counting.given += len(messages)
        return len(messages)


class Answering(BaseEmailBackend):
    """A mail server that refuses each message with `failure`."""

    failure: Exception = OSError()

    def send_messages(self, messages: Any) -> int:
        raise Answering.failure


@pytest.fixture
def record(technician: Person) -> ApplicationRecord:
    place = make_property(make_customer(technician.branch))
    return make_record(make_zone(place), technician, make_label())


@pytest.fixture
def notice(record: ApplicationRecord) -> Notice:
    return make_notice(record, next_try_at=NOW, created_at=NOW)


def state_of(notice: Notice) -> str:
    notice.refresh_from_db()
    return notice.state


def test_a_notice_goes_out_once_with_its_paper(notice: Notice) -> None:
    assert send_due(now=NOW).taken == 1
    assert send_due(now=NOW + timedelta(days=1)).taken == 0
    [message] = mail.outbox
    assert message.to == ["owner@customer.example"] and message.subject == "Your copy"
    assert message.attachments == [("copy.pdf", b"%PDF-1.7", "application/pdf")]
    assert message.extra_headers["Auto-Submitted"] == "auto-generated"
    [known] = notice.evidence.all()
    assert (known.kind, known.by) == ("taken", None) and known.said.startswith("accepted")
    assert state_of(notice) == "taken"


def test_what_is_due_later_waits(notice: Notice) -> None:
    assert send_due(now=NOW - timedelta(minutes=1)).sentence == ""
    assert mail.outbox == []


def test_nothing_is_lost_while_the_mail_server_is_down_for_an_hour(
    notice: Notice, record: ApplicationRecord, settings: Any
) -> None:
    make_notice(record, next_try_at=NOW)
    backend, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{HERE}.Down"
    for minutes in (0, 15, 30, 45):
        told = send_due(now=NOW + timedelta(minutes=minutes))
        assert told.is_down and told.taken == 0
    assert [one.state for one in Notice.objects.all()] == ["waiting"] * 2
    settings.EMAIL_BACKEND = backend
    assert send_due(now=NOW + timedelta(hours=1)).taken == 2
    assert send_due(now=NOW + timedelta(hours=2)).taken == 0
    assert len(mail.outbox) == 2


def test_without_a_mail_server_it_waits(notice: Notice, settings: Any) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert send_due(now=NOW + timedelta(days=9)).sentence == ""
    assert state_of(notice) == "waiting" and notice.attempts == 0


@pytest.mark.parametrize(
    ("failure", "state", "opened"),
    [
        # 5yz is for good, 4yz for now (RFC 5321, 4.2.1)
        (smtplib.SMTPDataError(554, b"no"), "refused", 1),
        (smtplib.SMTPDataError(451, b"later"), "waiting", 0),
        (smtplib.SMTPRecipientsRefused({"a@b.example": (550, b"no such user")}), "refused", 1),
        (smtplib.SMTPRecipientsRefused({"a@b.example": (450, b"busy")}), "waiting", 0),
        # ours to put right, so it waits
        (smtplib.SMTPAuthenticationError(535, b"sign in"), "waiting", 0),
        (smtplib.SMTPServerDisconnected(), "waiting", 0),
        (TimeoutError(), "waiting", 0),
        # what cannot be made into a message never can
        (ValueError("header"), "failed", 1),
    ],
)
def test_what_the_mail_server_answers(
    notice: Notice, settings: Any, failure: Exception, state: str, opened: int
) -> None:
    settings.EMAIL_BACKEND, Answering.failure = f"{HERE}.Answering", failure
    send_due(now=NOW)
    assert state_of(notice) == state and notice.attempts == 1
    assert OpenItem.objects.filter(code="notice_not_sent").count() == opened
    if state == "waiting":
        assert notice.next_try_at == NOW + timedelta(minutes=15)


def test_no_address_stands_in_what_is_kept_of_an_answer(notice: Notice, settings: Any) -> None:
    said = b"5.1.1 <owner@customer.example>: unknown"
    settings.EMAIL_BACKEND = f"{HERE}.Answering"
    Answering.failure = smtplib.SMTPRecipientsRefused({"owner@customer.example": (550, said)})
    send_due(now=NOW)
    assert notice.evidence.get().said == "550 5.1.1 (address) unknown"
    assert "@" not in OpenItem.objects.get().sentence


def test_after_five_days_it_is_a_person_s_matter(notice: Notice, settings: Any) -> None:
    settings.EMAIL_BACKEND, Answering.failure = f"{HERE}.Answering", TimeoutError()
    send_due(now=NOW + timedelta(days=5, minutes=1))
    assert state_of(notice) == "failed" and "five days" in OpenItem.objects.get().sentence


def test_a_claim_left_behind_is_said_and_never_sent_by_itself(
    notice: Notice, office: Person
) -> None:
    Notice.objects.update(state="sending", claimed_at=NOW)
    assert send_due(now=NOW + timedelta(minutes=29)).doubtful == 0
    later = NOW + timedelta(minutes=31)
    assert send_due(now=later).doubtful == 1
    assert send_due(now=later).doubtful == 0
    assert state_of(notice) == "doubtful" and mail.outbox == []
    assert OpenItem.objects.get(closed_at=None).code == "notice_in_doubt"
    send_again(notice_id=notice.pk, by=office, now=later)
    assert send_due(now=later).taken == 1 and len(mail.outbox) == 1
    assert not OpenItem.objects.filter(closed_at=None).exists()


def test_only_what_is_over_goes_again(notice: Notice, office: Person) -> None:
    with pytest.raises(Refused) as refused:
        send_again(notice_id=notice.pk, by=office, now=NOW)
    assert refused.value.code == "not_again"
    send_due(now=NOW)
    send_again(notice_id=notice.pk, by=office, now=NOW)
    with pytest.raises(Refused):
        send_again(notice_id=notice.pk, by=office, now=NOW)
    assert send_due(now=NOW).taken == 1 and len(mail.outbox) == 2
    first, second = (message.extra_headers["Message-ID"] for message in mail.outbox)
    # a reader that knows the first one must not take the second for it
    assert first != second


def test_only_what_was_sent_comes_back(notice: Notice, office: Person) -> None:
    def back() -> None:
        note_evidence(notice_id=notice.pk, kind="bounced", by=office, now=NOW, said="unknown")

    with pytest.raises(Refused):
        back()
    send_due(now=NOW)
    back()
    back()
    assert [one.kind for one in notice.evidence.all()] == ["taken", "bounced"]
    assert OpenItem.objects.filter(code="notice_not_sent", closed_at=None).count() == 1


def _turn(gate: Barrier, act: Callable[[], object]) -> None:
    try:
        gate.wait(timeout=30)
        act()
    finally:
        connection.close()


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_of_sixteen_senders_one_sends(record: ApplicationRecord, settings: Any) -> None:
    settings.EMAIL_BACKEND, Counting.given = f"{HERE}.Counting", 0
    notices = [make_notice(record, next_try_at=NOW) for _ in range(2)]
    gate = Barrier(16)
    with ThreadPoolExecutor(16) as pool:
        tries = [pool.submit(_turn, gate, lambda: send_due(now=NOW)) for _ in range(16)]
        [one.result() for one in tries]
    assert Counting.given == 2
    assert [[e.kind for e in one.evidence.all()] for one in notices] == [["taken"]] * 2
