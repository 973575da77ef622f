"""Stock on hand, one lot, and what is entered about them."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import branch_choices, local_today
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.stock import OnHandFilter, PlaceForm, ReceiptForm, ReorderForm
from treatments.selectors.receipts import receipts_page
from treatments.selectors.stock_choices import (
    driver_choices,
    known_products,
    label_choices,
    place_choices,
    product_choices,
)
from treatments.selectors.stock_page import lot_page, stock_page
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place, set_reorder_level


@requires(Permission.SEE_STOCK)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """What is on hand, by place."""
    person = person_of(request)
    rows = {"place": place_choices(person), "product": known_products()}
    form = OnHandFilter(request.GET, rows=rows)
    page = stock_page(person, local_today(person, timezone.now()), **form.wanted())
    return render(request, "treatments/stock.html", {"page": page, "form": form})


@requires(Permission.SEE_STOCK)
@require_GET
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """One lot with its moves."""
    person = person_of(request)
    page = lot_page(person, pk, local_today(person, timezone.now()))
    return render(request, "treatments/lot.html", {"page": page})


@requires(Permission.SEE_STOCK)
@require_GET
def receipts(request: HttpRequest) -> HttpResponse:
    """Every delivery with dealer, invoice, buyer and license."""
    rows, page = receipts_page(person_of(request), request.GET.get("page"))
    return render(request, "treatments/receipts.html", {"rows": rows, "page": page})


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def receive(request: HttpRequest) -> HttpResponse:
    """Receive a delivery."""
    person, now = person_of(request), timezone.now()
    form = ReceiptForm(
        posted(request),
        rows={"label_version": label_choices(), "place": place_choices(person)},
        initial={"received_on": local_today(person, now), "containers": 1},
    )
    words = FormPage(
        "Receive a lot",
        "Receive the lot",
        reverse("stock"),
        "The lot is received.",
        source="A lot is judged by the label on its container until that label is withdrawn.",
        two=True,
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: receive_lot(
            **_keyed(entered, "label_version", "place"), by=person, now=now
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Add a store, a vehicle or a rinsate container."""
    person = person_of(request)
    rows = {"branch": branch_choices(person), "technician": driver_choices(person)}
    form = PlaceForm(posted(request), rows=rows)
    words = FormPage(
        "Add a place of stock", "Add the place", reverse("stock"), "The place is added."
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: add_place(
            **_keyed(entered, "branch", "technician"), by=person, now=timezone.now()
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def reorder(request: HttpRequest) -> HttpResponse:
    """Say when a product is ordered again."""
    person = person_of(request)
    rows = {"branch": branch_choices(person), "label_version": product_choices()}
    form = ReorderForm(posted(request), rows=rows)
    words = FormPage(
        "Set when to order again", "Save the level", reverse("stock"), "The level is saved."
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: set_reorder_level(**_keyed(entered, "branch", "label_version"), by=person),
    )


def _keyed(entered: dict[str, Any], *names: str) -> dict[str, Any]:
    """What was entered, with the chosen rows under the names of their keys."""
    return {f"{name}_id" if name in names else name: value for name, value in entered.items()}
