"""The one-time link: the first password is set once, by who holds the link, and well."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.conf import settings
from django.core import mail
from django.test import Client
from django.urls import reverse

from accounts.models import AuditEvent, Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from accounts.services.invitations import (
    Invitation,
    accept_invitation,
    invite_again,
    mail_invitation,
)
from accounts.services.people import deactivate_person, edit_person, invite_person
from tests.accounts.pages import errors, words

pytestmark = pytest.mark.django_db
GOOD = "four unrelated words walk"
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


@pytest.fixture
def invitation(branch_ohio: Branch) -> Invitation:
    """An invited technician."""
    return invite_person(
        email="nora@firm.example",
        full_name="Nora Newcomb",
        roles={Role.TECHNICIAN},
        branch_id=branch_ohio.pk,
        by=None,
    )


def _typed(client: Client, path: str, password: str, again: str | None = None) -> object:
    return client.post(path, {"password": password, "again": again or password})


def _sign_in(email: str, password: str) -> Client:
    client = Client(REMOTE_ADDR="192.0.2.77")
    client.post(reverse("account_login"), {"login": email, "password": password})
    return client


def test_the_link_opens_for_somebody_who_is_not_signed_in(invitation: Invitation) -> None:
    response = Client().get(invitation.path)
    assert response.status_code == 200
    assert "Nora Newcomb" in words(response)
    assert "no-store" in response.headers["Cache-Control"]


def test_the_first_password_opens_the_door(invitation: Invitation) -> None:
    response = _typed(Client(), invitation.path, GOOD)
    assert response.headers["Location"] == reverse("account_login")  # type: ignore[attr-defined]
    invitation.person.refresh_from_db()
    assert invitation.person.check_password(GOOD)
    assert AuditEvent.objects.filter(act="invitation_accepted").count() == 1
    assert _sign_in("nora@firm.example", GOOD).get(reverse("today")).status_code == 200


def test_the_link_works_once(invitation: Invitation) -> None:
    _typed(Client(), invitation.path, GOOD)
    for response in (Client().get(invitation.path), _typed(Client(), invitation.path, GOOD[::-1])):
        assert response.status_code == 422  # type: ignore[attr-defined]
        text = words(response)  # type: ignore[arg-type]
        assert "was used already or is too old" in text
        assert "sign in" in text
    invitation.person.refresh_from_db()
    assert invitation.person.check_password(GOOD)


def test_two_who_hold_the_link_cannot_both_use_it(invitation: Invitation) -> None:
    uid, token = invitation.path.strip("/").split("/")[1:]
    accept_invitation(uid=uid, token=token, password=GOOD)
    with pytest.raises(Refused) as refused:
        accept_invitation(uid=uid, token=token, password=GOOD[::-1])
    assert refused.value.code == "invitation"


@pytest.mark.parametrize(
    ("uid", "token"),
    [
        ("OTk5OTk5", "c1-0123456789abcdef0123456789abcdef"),
        ("!!!", "x"),
        ("_w", "x"),
        ("MTIz\u00e9", "x"),
    ],
)
def test_a_link_that_was_never_made_is_refused(db: None, uid: str, token: str) -> None:
    response = Client().get(reverse("invitation", args=[uid, token]))
    assert response.status_code == 422
    assert "ask your office for a new link" in words(response)


def test_somebody_elses_token_opens_nothing(invitation: Invitation, branch_ohio: Branch) -> None:
    other = invite_person(
        email="olaf@firm.example",
        full_name="Olaf Other",
        roles=(),
        branch_id=branch_ohio.pk,
        by=None,
    )
    uid = invitation.path.strip("/").split("/")[1]
    token = other.path.strip("/").split("/")[2]
    assert Client().get(reverse("invitation", args=[uid, token])).status_code == 422


@pytest.mark.parametrize(
    ("password", "sentence"),
    [
        ("short", "at least 15 characters"),  # NIST SP 800-63B-4, 3.1.1.2: 15 as a single factor
        ("nora@firm.example", "too similar"),
        ("Nora Newcomb 1234", "too similar"),
    ],
)
def test_a_weak_password_is_answered_with_a_sentence(
    invitation: Invitation, password: str, sentence: str
) -> None:
    client = Client()
    response = _typed(client, invitation.path, password)
    assert sentence in " ".join(errors(response)["password"])  # type: ignore[arg-type]
    invitation.person.refresh_from_db()
    assert not invitation.person.has_usable_password()
    assert client.get(invitation.path).status_code == 200


def test_two_different_passwords_are_refused(invitation: Invitation) -> None:
    response = _typed(Client(), invitation.path, GOOD, GOOD + "!")
    assert list(errors(response)) == ["again"]  # type: ignore[arg-type]
    assert GOOD not in response.content.decode()  # type: ignore[attr-defined]


def test_a_link_grows_too_old(branch_ohio: Branch) -> None:
    with time_machine.travel(NOON, tick=False):
        made = invite_person(
            email="nora@firm.example",
            full_name="Nora Newcomb",
            roles=(),
            branch_id=branch_ohio.pk,
            by=None,
        )
    good_for = timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT)
    with time_machine.travel(NOON + good_for, tick=False):
        assert Client().get(made.path).status_code == 200
    with time_machine.travel(NOON + good_for + timedelta(seconds=1), tick=False):
        assert Client().get(made.path).status_code == 422


def test_a_link_dies_with_the_address_it_was_mailed_to(
    invitation: Invitation, manager: Person
) -> None:
    edit_person(
        person_id=invitation.person.pk,
        full_name="Nora Newcomb",
        email="right@firm.example",
        phone="",
        branch_id=invitation.person.branch_id,
        by=manager,
    )
    assert Client().get(invitation.path).status_code == 422


def test_who_left_before_using_the_link_does_not_get_in(
    invitation: Invitation, manager: Person
) -> None:
    deactivate_person(person_id=invitation.person.pk, by=manager)
    assert Client().get(invitation.path).status_code == 422


def test_the_mail_says_who_how_long_and_where(invitation: Invitation) -> None:
    assert mail_invitation(invitation)
    (sent,) = mail.outbox
    assert sent.to == ["nora@firm.example"]
    assert invitation.url in sent.body
    assert f"{settings.PASSWORD_RESET_TIMEOUT // 86_400} days" in sent.body


def test_a_mail_server_that_is_away_is_said_and_not_a_crash(
    invitation: Invitation, settings: object, manager: Person
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"  # type: ignore[attr-defined]
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # type: ignore[attr-defined]
    assert mail_invitation(invitation) is False


def test_the_office_makes_no_link_for_somebody_with_roles(
    invitation: Invitation, office: Person, manager: Person
) -> None:
    with pytest.raises(Refused) as refused:
        invite_again(person_id=invitation.person.pk, by=office)
    assert refused.value.code == "not_permitted"
    assert invite_again(person_id=invitation.person.pk, by=manager).path.startswith("/invitation/")
