"""The people of every story: one of each role, in two branches."""

from __future__ import annotations

import pytest
from django.test import Client

from accounts.models import Branch, Person
from accounts.permissions import Role
from tests.factories import make_branch, make_license, make_person


@pytest.fixture
def branch_ohio(db: None) -> Branch:
    """A shop in Ohio."""
    return make_branch("Columbus", "OH")


@pytest.fixture
def branch_penn(db: None) -> Branch:
    """A shop in Pennsylvania."""
    return make_branch("Erie", "PA", zip_code="16501")


@pytest.fixture
def manager(branch_ohio: Branch) -> Person:
    """Runs the firm."""
    return make_person([Role.MANAGER], branch_ohio, "Morgan Manager", email="manager@firm.example")


@pytest.fixture
def office(branch_ohio: Branch) -> Person:
    """Answers the telephone."""
    return make_person([Role.OFFICE], branch_ohio, "Olive Office", email="office@firm.example")


@pytest.fixture
def technician(branch_ohio: Branch) -> Person:
    """Drives a route in Ohio and holds a license there."""
    person = make_person(
        [Role.TECHNICIAN], branch_ohio, "Terry Technician", email="terry@firm.example"
    )
    make_license(person, "OH")
    return person


@pytest.fixture
def other_technician(branch_ohio: Branch) -> Person:
    """Drives another route in Ohio."""
    person = make_person([Role.TECHNICIAN], branch_ohio, "Uma Technician", email="uma@firm.example")
    make_license(person, "OH")
    return person


@pytest.fixture
def stranger(branch_ohio: Branch) -> Person:
    """Signs in but holds no role."""
    return make_person([], branch_ohio, "Sam Stranger", email="stranger@firm.example")


@pytest.fixture
def anonymous(db: None) -> Client:
    """Somebody who has not signed in."""
    return Client()
