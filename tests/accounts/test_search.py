"""Finding customers by what the office knows of them, in its own branch, in one question."""

from __future__ import annotations

from typing import Any

import pytest

from accounts.models import Branch, Customer, Person
from accounts.selectors.customers import customers_for, matches
from tests.factories import make_contact, make_customer

pytestmark = pytest.mark.django_db


@pytest.fixture
def nadia(branch_ohio: Branch) -> Customer:
    """A customer with two contacts."""
    customer = make_customer(branch_ohio, "Nadia Castellane")
    make_contact(customer, "Otto Keyholder", phone="+16145550123", email="otto@keys.example")
    make_contact(customer, "Nadia Castellane", phone="+14195550100", email="nadia@home.example")
    return customer


@pytest.fixture
def others(branch_ohio: Branch, nadia: Customer) -> list[Customer]:
    """Customers that must not be found instead."""
    return [make_customer(branch_ohio, f"Marta Ellwood {number}") for number in range(3)]


@pytest.mark.parametrize(
    "text",
    [
        "nadia",
        "CASTELL",
        "castellane nadia",
        "Castellane, Nadia",
        "keyholder",
        "otto@keys",
        "(614) 555-0123",
        "614 555 0123",
        "+1 614 555 0123",
        "5550123",
    ],
)
def test_a_customer_is_found_by_what_the_office_knows(
    office: Person, nadia: Customer, others: list[Customer], text: str
) -> None:
    found = matches(text, office)
    assert [row.label for row in found] == ["Nadia Castellane"]
    assert found[0].url == nadia.get_absolute_url()
    assert found[0].kind == "Customer"


@pytest.mark.parametrize("text", ["", " ", "n", "nadia ellwood", "zzz", "999", "%", "_" * 3, "'--"])
def test_what_is_not_there_is_not_found(
    office: Person, nadia: Customer, others: list[Customer], text: str
) -> None:
    assert matches(text, office) == []


def test_the_row_tells_one_from_another(office: Person, nadia: Customer) -> None:
    (row,) = matches("nadia", office)
    assert "(" in row.detail
    assert "@" in row.detail


def test_other_branches_and_people_without_the_permission_find_nothing(
    office: Person,
    manager: Person,
    technician: Person,
    stranger: Person,
    branch_penn: Branch,
) -> None:
    make_customer(branch_penn, "Peter Penn")
    found = {person: len(matches("peter", person)) for person in (office, technician, stranger)}
    assert set(found.values()) == {0}
    assert len(matches("peter", manager)) == 1
    assert not customers_for(technician).exists()


def test_twenty_at_most_in_one_question(
    office: Person, branch_ohio: Branch, django_assert_num_queries: Any
) -> None:
    for number in range(30):
        customer = make_customer(branch_ohio, f"Heron {number:02d}")
        make_contact(customer)
        make_contact(customer)
    # One for the roles of who asks, which a page has read already, and one for the customers.
    with django_assert_num_queries(2):
        found = matches("heron", office)
    assert [row.label for row in found] == [f"Heron {number:02d}" for number in range(20)]
