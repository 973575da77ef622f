"""Entering and changing customers and their contacts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from accounts.forms import ContactForm, EditCustomerForm, NewCustomerForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.entries import NewContact, NewCustomer
from accounts.rules.phones import readable
from accounts.selectors.customers import contact_for, customer_for
from accounts.selectors.pages import branch_choices
from accounts.services.customers import add_contact, edit_contact, edit_customer, open_customer
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved

if TYPE_CHECKING:
    from accounts.models import Customer


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Enter a customer, then go to the page where contacts and properties are added."""
    asking = person_of(request)
    form = NewCustomerForm(
        posted(request), branches=branch_choices(asking), initial={"branch": asking.branch_id}
    )
    made: list[Customer] = []

    def save(entered: dict[str, Any]) -> None:
        rest = {name: value for name, value in entered.items() if name != "branch"}
        customer = NewCustomer(branch_id=entered["branch"], **rest)
        made.append(open_customer(customer=customer, by=asking))

    if form.is_bound and saved(form, save):
        messages.success(request, "The customer is added. Add a contact and a property next.")
        return redirect(made[0].get_absolute_url())
    return form_page(
        request, form, FormPage("Add a customer", "Add the customer", reverse("customers"))
    )


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer."""
    asking = person_of(request)
    customer = customer_for(asking, pk)
    known = {name: getattr(customer, name) for name in EditCustomerForm.base_fields}
    words = FormPage(
        f"Change {customer.name}",
        "Save the customer",
        customer.get_absolute_url(),
        "The customer is changed.",
    )
    return one_form(
        request,
        EditCustomerForm(posted(request), initial=known),
        words,
        lambda entered: edit_customer(customer_id=pk, **entered, by=asking),
    )


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def contact_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a contact of a customer."""
    asking = person_of(request)
    customer = customer_for(asking, pk)
    words = FormPage(
        f"Add a contact of {customer.name}",
        "Add the contact",
        customer.get_absolute_url(),
        "The contact is added.",
    )
    return one_form(
        request,
        ContactForm(posted(request), initial={"wants_notices": True}),
        words,
        lambda entered: add_contact(contact=NewContact(pk, **entered), by=asking),
    )


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def contact_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a contact."""
    asking = person_of(request)
    contact = contact_for(asking, pk)
    known = {name: getattr(contact, name) for name in ContactForm.base_fields}
    words = FormPage(
        f"Change {contact.name}",
        "Save the contact",
        contact.customer.get_absolute_url(),
        "The contact is changed.",
    )
    return one_form(
        request,
        ContactForm(posted(request), initial=known | {"phone": readable(contact.phone)}),
        words,
        lambda entered: edit_contact(contact_id=pk, **entered, by=asking),
    )
