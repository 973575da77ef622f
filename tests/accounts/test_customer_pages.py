"""Customers and contacts: entered by the office of their branch, kept as typed when refused."""

from __future__ import annotations

import pytest
from django.http import Http404

from accounts.models import AuditEvent, Branch, Contact, Customer, Person
from accounts.refusals import Refused
from accounts.rules.entries import NewContact, NewCustomer
from accounts.services.customers import add_contacts, open_customers
from tests.accounts.pages import ask, codes, errors, send, typed
from tests.factories import make_contact, make_customer

pytestmark = pytest.mark.django_db
CONTACT = {
    "name": "Pat Example",
    "role": "tenant",
    "phone": "(614) 555-0199",
    "email": "Pat@Customer.example",
    "wants_notices": "on",
}


@pytest.fixture
def customer(branch_ohio: Branch) -> Customer:
    """A customer of the office's own branch."""
    return make_customer(branch_ohio, "Nadia Castellane")


@pytest.fixture
def far(branch_penn: Branch) -> Customer:
    """A customer of another branch."""
    return make_customer(branch_penn, "Peter Penn")


@pytest.mark.parametrize("name", ["customer_edit", "contact_add"])
def test_a_customers_forms_are_the_offices(
    name: str,
    customer: Customer,
    manager: Person,
    office: Person,
    technician: Person,
    stranger: Person,
) -> None:
    asking = [manager, office, technician, stranger, None]
    assert codes(asking, name, customer.pk) == [200, 200, 403, 403, 302]
    assert codes(asking, "customer_add") == [200, 200, 403, 403, 302]
    contact = make_contact(customer)
    assert codes(asking, "contact_edit", contact.pk) == [200, 200, 403, 403, 302]


def test_another_branchs_customers_are_not_there(
    far: Customer, office: Person, manager: Person
) -> None:
    for name, pk in (
        ("customer_edit", far.pk),
        ("contact_add", far.pk),
        ("contact_edit", make_contact(far).pk),
    ):
        assert codes([manager, office], name, pk) == [200, 404]
    assert send(office, "contact_add", far.pk, **CONTACT).status_code == 404
    assert far.contacts.count() == 1


def test_a_customer_is_added_and_opened(office: Person) -> None:
    response = send(
        office,
        "customer_add",
        branch=office.branch_id,
        name="  Brindle   Row Bakery ",
        kind="commercial",
        billing_address="PO Box 1\r\nColumbus, OH 43085",
    )
    customer = Customer.objects.get()
    assert response.headers["Location"] == customer.get_absolute_url()
    assert customer.name == "Brindle Row Bakery"
    assert customer.billing_address == "PO Box 1\nColumbus, OH 43085"
    assert customer.created_by == office
    assert AuditEvent.objects.filter(act="customer_opened").count() == 1


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "   ", "required"),
        ("name", "x" * 161, "at most 160"),
        ("kind", "industrial", "not one of the available choices"),
        ("branch", "999999", "choose one from this list"),
    ],
)
def test_a_customer_typed_wrong_gets_a_sentence_and_is_kept(
    office: Person, field: str, value: str, sentence: str
) -> None:
    entered = {
        "branch": str(office.branch_id),
        "name": "Brindle Row Bakery",
        "kind": "commercial",
        "billing_address": "PO Box 1",
    } | {field: value}
    response = send(office, "customer_add", **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert {name: typed(response, name) for name in entered} == entered
    assert not Customer.objects.exists()


def test_the_office_enters_no_customer_elsewhere(office: Person, branch_penn: Branch) -> None:
    response = send(
        office, "customer_add", branch=branch_penn.pk, name="Peter Penn", kind="residential"
    )
    assert "branch" in errors(response)
    assert not Customer.objects.exists()


def test_a_customer_is_changed_and_closed(office: Person, customer: Customer) -> None:
    entered = {"name": "Nadia C. Castellane", "kind": "residential", "billing_address": ""}
    response = send(office, "customer_edit", customer.pk, **entered, status="closed")
    assert response.headers["Location"] == customer.get_absolute_url()
    customer.refresh_from_db()
    assert (customer.name, customer.status) == ("Nadia C. Castellane", "closed")
    assert "status" in errors(send(office, "customer_edit", customer.pk, **entered, status="gone"))


def test_a_contact_is_added_with_number_and_address_in_one_form(
    office: Person, customer: Customer
) -> None:
    response = send(office, "contact_add", customer.pk, **CONTACT)
    assert response.headers["Location"] == customer.get_absolute_url()
    contact = customer.contacts.get()
    assert (contact.name, contact.role, contact.wants_notices) == ("Pat Example", "tenant", True)
    assert (contact.phone, contact.email) == ("+16145550199", "pat@customer.example")


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "required"),
        ("role", "cousin", "not one of the available choices"),
        ("phone", "555", "is not a telephone number"),
        ("phone", "(614) 555-0199 ext 4", "without letters or an extension"),
        ("email", "pat@", "write an address like"),
    ],
)
def test_a_contact_typed_wrong_gets_a_sentence_and_is_kept(
    office: Person, customer: Customer, field: str, value: str, sentence: str
) -> None:
    entered = CONTACT | {field: value}
    response = send(office, "contact_add", customer.pk, **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    for name in ("name", "role", "phone", "email"):
        assert typed(response, name) == entered[name]
    assert not customer.contacts.exists()


def test_a_contact_is_changed_and_no_longer_written_to(office: Person, customer: Customer) -> None:
    contact = make_contact(customer, phone="+16145550199")
    page = ask(office, "contact_edit", contact.pk)
    assert typed(page, "phone") == "(614) 555-0199"
    entered = {name: value for name, value in CONTACT.items() if name != "wants_notices"}
    response = send(office, "contact_edit", contact.pk, **entered)
    assert response.headers["Location"] == customer.get_absolute_url()
    contact.refresh_from_db()
    assert (contact.phone, contact.wants_notices) == ("+16145550199", False)


def test_many_at_once_come_back_in_their_order_with_one_event(
    office: Person, branch_ohio: Branch
) -> None:
    rows = [NewCustomer(branch_ohio.pk, f"Customer {number}") for number in range(700)]
    made = open_customers(rows, by=office)
    assert [one.name for one in made] == [row.name for row in rows]
    contacts = add_contacts([NewContact(one.pk, f"Of {one.name}") for one in made], by=office)
    assert [one.customer_id for one in contacts] == [one.pk for one in made]
    assert AuditEvent.objects.filter(act="customers_opened").count() == 1
    assert AuditEvent.objects.get(act="contacts_added").details["count"] == 700


def test_one_bad_row_stores_none(office: Person, branch_ohio: Branch, customer: Customer) -> None:
    with pytest.raises(Refused) as refused:
        open_customers([NewCustomer(branch_ohio.pk, name) for name in ("Good", "")], by=office)
    assert refused.value.facts["field"] == "name"
    rows = [NewContact(customer.pk, "Good"), NewContact(customer.pk, "Bad", phone="12")]
    with pytest.raises(Refused):
        add_contacts(rows, by=office)
    assert Customer.objects.count() == 1
    assert not Contact.objects.exists()


def test_many_at_once_stay_inside_the_branch(
    office: Person, far: Customer, customer: Customer, technician: Person
) -> None:
    with pytest.raises(Http404):
        open_customers([NewCustomer(far.branch_id, "Peter Penn")], by=office)
    with pytest.raises(Http404):
        add_contacts([NewContact(customer.pk, "A"), NewContact(far.pk, "B")], by=office)
    with pytest.raises(Refused):
        open_customers([NewCustomer(customer.branch_id, "Nobody")], by=technician)
    assert Customer.objects.count() == 2
    assert not Contact.objects.exists()
