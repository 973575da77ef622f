"""Signing in: closed to strangers, slow to guessers, over at once for who is let go."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from accounts.models import Person
from accounts.services.people import deactivate_person
from tests.accounts.pages import words
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db
LOGIN = "/sign-in/login/"


@pytest.fixture(autouse=True)
def no_counters() -> Iterator[None]:
    """Guesses of other tests do not count here, nor these elsewhere."""
    cache.clear()
    yield
    cache.clear()


def _try(client: Client, email: str, password: str) -> object:
    return client.post(LOGIN, {"login": email, "password": password})


def _is_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_the_address_may_be_typed_in_capitals(technician: Person) -> None:
    client = Client()
    _try(client, "TERRY@Firm.Example", PASSWORD)
    assert _is_in(client)


def test_sign_up_is_closed() -> None:
    client = Client()
    fields = {
        "email": "new@firm.example",
        "password1": "four unrelated words walk",
        "password2": "four unrelated words walk",
    }
    for response in (
        client.get(reverse("account_signup")),
        client.post(reverse("account_signup"), fields),
    ):
        assert "invite" in words(response).lower()
    assert not Person.objects.exists()
    assert not _is_in(client)


def test_a_wrong_password_and_a_stranger_read_the_same_sentence(technician: Person) -> None:
    known = _try(Client(), technician.email, "not the password at all")
    unknown = _try(Client(), "nobody@firm.example", "not the password at all")
    told = [list(response.context["form"].errors["__all__"]) for response in (known, unknown)]  # type: ignore[attr-defined]
    assert told[0] == told[1]


def test_guessing_is_stopped_before_the_eighth_try(technician: Person) -> None:
    client = Client()
    for number in range(8):
        _try(client, technician.email, f"a wrong password, number {number}")
    right = _try(client, technician.email, PASSWORD)
    assert not _is_in(client)
    assert "Too many failed login attempts" in words(right)  # type: ignore[arg-type]


def test_guessing_at_one_person_does_not_lock_out_another(
    technician: Person, office: Person
) -> None:
    guesser = Client(REMOTE_ADDR="192.0.2.8")
    for number in range(8):
        _try(guesser, technician.email, f"a wrong password, number {number}")
    theirs = Client(REMOTE_ADDR="192.0.2.9")
    _try(theirs, office.email, PASSWORD)
    assert _is_in(theirs)


def test_every_session_of_who_is_let_go_ends(technician: Person, manager: Person) -> None:
    phone, tablet = Client(), Client(REMOTE_ADDR="192.0.2.10")
    for client in (phone, tablet):
        _try(client, technician.email, PASSWORD)
        assert client.get(reverse("today")).status_code == 200
    deactivate_person(person_id=technician.pk, by=manager)
    for client in (phone, tablet):
        answer = client.get(reverse("today"))
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith(LOGIN)


def test_who_was_let_go_cannot_sign_in_again(technician: Person, manager: Person) -> None:
    deactivate_person(person_id=technician.pk, by=manager)
    client = Client()
    _try(client, technician.email, PASSWORD)
    assert not _is_in(client)


def test_roles_count_from_the_next_request_on(technician: Person) -> None:
    client = Client()
    _try(client, technician.email, PASSWORD)
    technician.role_grants.all().delete()
    assert client.get(reverse("today")).status_code == 403
