"""The list of customers, the page of one, and the search box."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.search import FEWEST_LETTERS
from accounts.selectors.pages import local_today
from scheduling.forms.filters import CustomerFilterForm
from scheduling.selectors.customer_pages import (
    CustomerFilter,
    customer_page,
    customers_page,
    towns_of,
)
from scheduling.selectors.search import found_for


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Customers by name, with their properties."""
    person = person_of(request)
    form = CustomerFilterForm(request.GET, towns=towns_of(person))
    wanted, today = CustomerFilter(**form.wanted()), local_today(person, timezone.now())
    found = customers_page(person, wanted, today, request.GET.get("page"))
    shown = {"form": form, "list": found, "page": found.page, "is_narrowed": form.is_narrowed()}
    return render(request, "scheduling/customers.html", shown)


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer: contacts, properties, visits."""
    person = person_of(request)
    sheet = customer_page(person, pk, local_today(person, timezone.now()))
    return render(request, "scheduling/customer.html", {"sheet": sheet, "customer": sheet.customer})


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def search(request: HttpRequest) -> HttpResponse:
    """Customers, contacts and addresses that hold the text."""
    text = request.GET.get("q", "").replace("\x00", "").strip()[:100]
    shown = {
        "text": text,
        "rows": found_for(person_of(request), text),
        "is_short": len(text) < FEWEST_LETTERS,
    }
    return render(request, "scheduling/search.html", shown)
