"""The list of customers and the page of one customer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from accounts.selectors.contact_log import entries_of
from accounts.selectors.customers import customer_for, customers_for
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for
from scheduling.models import Renewal, ServiceAgreement, Visit
from scheduling.rules.day_words import left
from scheduling.rules.renewals import days_left
from scheduling.selectors.agreements import agreements_at
from scheduling.selectors.contact_rows import ContactRow, contact_rows
from scheduling.selectors.visit_words import VisitWords, visit_words
from sites.selectors.by_customer import customers_in_town, properties_by_customer, towns

if TYPE_CHECKING:
    from django.core.paginator import Page

    from accounts.models import ContactEntry, Customer, Person

SORTS = {"name": ("name", "pk"), "-name": ("-name", "-pk"), "newest": ("-created_at", "-pk")}
SHOWN_VISITS = 20


@dataclass(frozen=True)
class CustomerFilter:
    """Which customers: by a part of the name, town, kind, status; and in which order."""

    name: str = ""
    town: str = ""
    kind: str = ""
    status: str = ""
    sort: str = "name"


@dataclass(frozen=True)
class PlaceRow:
    """A property of the customer and what is left until its open renewal lapses."""

    place: Any
    left: str
    is_lapsed: bool
    renewal: Renewal | None


@dataclass(frozen=True)
class CustomerRow:
    """A customer with the places."""

    customer: Customer
    places: Sequence[PlaceRow]


@dataclass(frozen=True)
class CustomersPage:
    """One page of customers."""

    rows: Sequence[CustomerRow]
    page: Page[Any]


@dataclass(frozen=True)
class CustomerPage:
    """Everything the sheet of one customer shows."""

    customer: Customer
    contacts: Sequence[ContactRow]
    places: Sequence[PlaceRow]
    visits: Sequence[VisitWords]
    agreements: Sequence[ServiceAgreement]
    log: Sequence[ContactEntry]


def customers_page(
    person: Person, wanted: CustomerFilter, today: date, number: object
) -> CustomersPage:
    """Read one page of the customers the person may see, in a fixed number of queries."""
    page = page_of(_chosen(person, wanted), number)
    customers = list(page.object_list)
    places = _places([customer.pk for customer in customers], today)
    rows = [CustomerRow(customer, places.get(customer.pk, [])) for customer in customers]
    return CustomersPage(rows, page)


def customer_page(person: Person, pk: int, today: date) -> CustomerPage:
    """Read the page of a customer the person may see; otherwise Http404."""
    customer = customer_for(person, pk)
    visits = Visit.objects.filter(property__customer_id=customer.pk).order_by("-window_opens_at")
    rows = visits.select_related("technician", "property__branch")[:SHOWN_VISITS]
    places = _places([customer.pk], today).get(customer.pk, [])
    return CustomerPage(
        customer=customer,
        contacts=contact_rows(customer.pk),
        places=places,
        visits=[visit_words(visit, visit.property.branch.time_zone) for visit in rows],
        agreements=agreements_at([one.place.pk for one in places]),
        log=entries_of(customer.pk),
    )


def towns_of(person: Person) -> list[str]:
    """Towns with a property of a branch the person may see, for the filter."""
    return towns([branch.pk for branch in branches_for(person)])


def _chosen(person: Person, wanted: CustomerFilter) -> Any:
    rows = customers_for(person).select_related("branch")
    for field, value in (("kind", wanted.kind), ("status", wanted.status)):
        rows = rows.filter(**{field: value}) if value else rows
    if wanted.name:
        rows = rows.filter(name__icontains=wanted.name)
    if wanted.town:
        rows = rows.filter(pk__in=customers_in_town(wanted.town))
    return rows.order_by(*SORTS.get(wanted.sort, SORTS["name"]))


def _places(customer_ids: Sequence[int], today: date) -> dict[int, list[PlaceRow]]:
    found = properties_by_customer(customer_ids)
    ids = [place.pk for places in found.values() for place in places]
    due = {one.property_id: one for one in Renewal.objects.open().filter(property_id__in=ids)}
    return {
        customer_id: [_place_row(place, due.get(place.pk), today) for place in places]
        for customer_id, places in found.items()
    }


def _place_row(place: Any, renewal: Renewal | None, today: date) -> PlaceRow:
    if renewal is None:
        return PlaceRow(place, "", False, None)
    days = days_left(renewal.lapses_on, today)
    return PlaceRow(place, left(days), days <= 0, renewal)
