"""Writing customers and their contacts, one at a time or many at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from django.db import transaction
from django.http import Http404

from accounts.models import Contact, Customer
from accounts.permissions import Permission, require
from accounts.rules.entries import NewContact, NewCustomer
from accounts.rules.lines import email_line, line, one_of, paragraph
from accounts.rules.phones import to_e164
from accounts.selectors.customers import contact_for, customer_for, customers_for
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person

BATCH = 500
# few enough for one IN list on either engine
KEYS_AT_ONCE = 10_000


def open_customers(rows: Sequence[NewCustomer], *, by: Person | None) -> list[Customer]:
    """Enter many customers at once, in their order, with one audit event for all.

    Refused as in `open_customer`; then none is stored. A branch out of reach is Http404.
    """
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        _within({row.branch_id for row in rows}, set(branches_for(by).values_list("pk", flat=True)))
        made = Customer.objects.bulk_create([_customer(row, by) for row in rows], batch_size=BATCH)
        note_event(by=by, act="customers_opened", thing="customers", count=len(made))
    return made


def open_customer(*, customer: NewCustomer, by: Person | None) -> Customer:
    """Enter a customer. Refused: no name, an unknown kind, texts longer than their columns."""
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        _within({customer.branch_id}, set(branches_for(by).values_list("pk", flat=True)))
        made = _customer(customer, by)
        made.save()
        note_event(by=by, act="customer_opened", thing=made)
    return made


def edit_customer(
    *,
    customer_id: int,
    name: str,
    kind: str,
    billing_address: str,
    status: str,
    by: Person | None,
) -> Customer:
    """Change a customer; refused as in `open_customer`."""
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        customer = customer_for(by, customer_id)
        _fill(customer, name, kind, billing_address)
        known = Customer.Status.values
        customer.status = one_of(status, known, field="status", label="Status")
        customer.save()
        note_event(by=by, act="customer_edited", thing=customer, status=customer.status)
    return customer


def add_contacts(rows: Sequence[NewContact], *, by: Person | None) -> list[Contact]:
    """Enter many contacts at once, in their order, with one audit event for all.

    Refused as in `add_contact`; then none is stored. A customer out of reach is Http404.
    """
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        wanted = sorted({row.customer_id for row in rows})
        for start in range(0, len(wanted), KEYS_AT_ONCE):
            part = wanted[start : start + KEYS_AT_ONCE]
            found = customers_for(by).filter(pk__in=part).values_list("pk", flat=True)
            _within(part, set(found))
        made = Contact.objects.bulk_create([_contact(row, by) for row in rows], batch_size=BATCH)
        note_event(by=by, act="contacts_added", thing="contacts", count=len(made))
    return made


def add_contact(*, contact: NewContact, by: Person | None) -> Contact:
    """Enter a contact. Refused: no name, a number or address that is none, an unknown role."""
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        customer_for(by, contact.customer_id)
        made = _contact(contact, by)
        made.save()
        note_event(by=by, act="contact_added", thing=made, customer=contact.customer_id)
    return made


def edit_contact(
    *,
    contact_id: int,
    name: str,
    role: str,
    phone: str,
    email: str,
    wants_notices: bool,
    texts_agreed_on: date | None = None,
    by: Person | None,
) -> Contact:
    """Change a contact; refused as in `add_contact`."""
    require(by, Permission.EDIT_CUSTOMERS)
    with transaction.atomic():
        contact = contact_for(by, contact_id)
        entered = NewContact(
            contact.customer_id, name, role, phone, email, wants_notices, texts_agreed_on
        )
        _fill_contact(contact, entered)
        contact.save()
        note_event(by=by, act="contact_edited", thing=contact)
    return contact


def _within(wanted: Iterable[int], reach: set[int]) -> None:
    if set(wanted) - reach:
        raise Http404


def _customer(row: NewCustomer, by: Person | None) -> Customer:
    customer = Customer(branch_id=row.branch_id, created_by=by)
    _fill(customer, row.name, row.kind, row.billing_address)
    return customer


def _fill(customer: Customer, name: str, kind: str, billing_address: str) -> None:
    customer.name = line(name, field="name", label="Name", most=160)
    customer.kind = one_of(kind, Customer.Kind.values, field="kind", label="Kind")
    customer.billing_address = paragraph(
        billing_address, field="billing_address", label="Billing address", most=400
    )


def _contact(row: NewContact, by: Person | None) -> Contact:
    contact = Contact(customer_id=row.customer_id, created_by=by)
    _fill_contact(contact, row)
    return contact


def _fill_contact(contact: Contact, row: NewContact) -> None:
    contact.name = line(row.name, field="name", label="Name", most=120)
    contact.role = one_of(row.role, Contact.Role.values, field="role", label="Role")
    contact.phone = to_e164(row.phone)
    contact.email = email_line(row.email, needed=False)
    contact.wants_notices = row.wants_notices
    contact.texts_agreed_on = row.texts_agreed_on
