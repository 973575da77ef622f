"""Reading customers and their contacts; nobody asking means the system itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse

from accounts.models import Contact, Customer, Person
from accounts.permissions import Permission, allows
from accounts.rules.phones import readable
from accounts.rules.search import MOST_ROWS, SearchRow, phone_digits, words_of
from accounts.selectors.people import branches_for

# A customer with many contacts comes back once a contact; more rows than shown are read for that.
READ_ROWS = MOST_ROWS * 10
# house rule: bills and emergencies are other matters than appointments
NOT_TOLD = (Contact.Role.BILLS, Contact.Role.EMERGENCY)
COLUMNS = ("pk", "name", "kind", "contacts__name", "contacts__phone", "contacts__email")


def customers_for(person: Person | None) -> QuerySet[Customer]:
    """Customers of the person's branches; none for who may not see customers."""
    customers = Customer.objects.all()
    if person is None:
        return customers
    if not allows(person, Permission.SEE_CUSTOMERS):
        return customers.none()
    return customers.filter(branch__in=branches_for(person))


def customer_for(person: Person | None, pk: int) -> Customer:
    """One customer the person may see; otherwise Http404."""
    return get_object_or_404(customers_for(person).select_related("branch"), pk=pk)


def contacts_of(customer_id: int) -> QuerySet[Contact]:
    """The contacts of a customer, by name."""
    return Contact.objects.filter(customer_id=customer_id).order_by("name", "pk")


def told_contacts(customer_id: int) -> list[Contact]:
    """Who hears of visits by e-mail: with an address, wanting notices, not for bills alone."""
    rows = contacts_of(customer_id).filter(wants_notices=True).exclude(email="")
    return list(rows.exclude(role__in=NOT_TOLD))


def told_by_customer(customer_ids: Iterable[int]) -> dict[int, list[Contact]]:
    """The same of many customers, in one query a thousand."""
    wanted, found = sorted(set(customer_ids)), dict[int, list[Contact]]()
    for start in range(0, len(wanted), 1000):
        rows = Contact.objects.filter(customer__in=wanted[start : start + 1000], wants_notices=True)
        for one in rows.exclude(email="").exclude(role__in=NOT_TOLD).order_by("name", "pk"):
            found.setdefault(one.customer_id, []).append(one)
    return found


def has_school_coordinator(customer_id: int) -> bool:
    """Whether a contact of a customer coordinates the pest management of a school."""
    return contacts_of(customer_id).filter(role=Contact.Role.SCHOOL_IPM).exists()


def contact_for(person: Person | None, pk: int) -> Contact:
    """One contact of a customer the person may see; otherwise Http404."""
    contacts = Contact.objects.filter(customer__in=customers_for(person))
    return get_object_or_404(contacts.select_related("customer"), pk=pk)


def matches(text: str, person: Person) -> list[SearchRow]:
    """Customers by name, contact, telephone number or e-mail, by name; 20 at most, one query.

    Every word typed must be found, except that something typed like a telephone number is
    looked for as one. Fewer than two letters find nothing.
    """
    words = words_of(text)
    if not words:
        return []
    rows = customers_for(person).filter(_wanted(words, phone_digits(text)))
    found = rows.order_by("name", "pk").values(*COLUMNS)[:READ_ROWS]
    return list(_once(found))[:MOST_ROWS]


def _wanted(words: list[str], digits: str) -> Q:
    named = Q()
    for word in words:
        named &= (
            Q(name__icontains=word)
            | Q(contacts__name__icontains=word)
            | Q(contacts__email__icontains=word)
        )
    return named | Q(contacts__phone__contains=digits) if digits else named


def _once(found: Iterable[dict[str, Any]]) -> Iterable[SearchRow]:
    rows = {row["pk"]: row for row in reversed(list(found))}
    for row in sorted(rows.values(), key=lambda row: (row["name"], row["pk"])):
        phone = row["contacts__phone"]
        known = (row["contacts__name"], readable(phone) if phone else "", row["contacts__email"])
        yield SearchRow(
            label=row["name"],
            detail=", ".join(part for part in known if part),
            url=reverse("customer", args=[row["pk"]]),
            kind="Customer",
        )


def customers_named(branch_id: int, text: str) -> list[Customer]:
    """Customers of a branch with every word of the text in their name, by name."""
    rows = Customer.objects.filter(branch_id=branch_id)
    for word in text.split():
        rows = rows.filter(name__icontains=word)
    return list(rows.order_by("name", "pk")[:MOST_ROWS])
