"""Who asks and what they ask for, in the walk over every address."""

from __future__ import annotations

import time

import pytest
from django.test import Client

from accounts.models import Person
from tests.architecture.answers import ROLES
from tests.architecture.examples import Examples, examples_of
from tests.factories import client_for, make_label


@pytest.fixture
def own(technician: Person) -> Examples:
    """Examples with a stop of the technician."""
    return examples_of(technician, make_label(), "North wall")


@pytest.fixture
def elses(other_technician: Person) -> Examples:
    """Examples with a stop of another technician only."""
    return examples_of(other_technician, make_label(), "South wall")


@pytest.fixture
def clients(
    stranger: Person, technician: Person, office: Person, manager: Person
) -> dict[str, Client]:
    """One client a role; an error of a view is an answer of 500 here, not an exception."""
    people = (None, stranger, technician, office, manager)
    clients = {role: client_for(person) for role, person in zip(ROLES, people, strict=True)}
    for role, client in clients.items():
        client.raise_request_exception = False
        if role != "anonymous":
            _signed_in_by_password(client)
    return clients


def _signed_in_by_password(client: Client) -> None:
    """Note in the session how the person signed in, as the sign-in page would have."""
    session = client.session
    session["account_authentication_methods"] = [{"method": "password", "at": time.time()}]
    session.save()
