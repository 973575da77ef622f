"""The contact log: one form of a customer, and the list of whom to call."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.forms.contact_log import ContactEntryForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.contact_log import Outcome, Way
from accounts.selectors.contact_log import call_list
from accounts.selectors.customers import contacts_of, customer_for
from accounts.selectors.pages import local_today
from accounts.services.contact_log import note_contact
from accounts.views.one_form import FormPage, one_form, posted


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def calls(request: HttpRequest) -> HttpResponse:
    """Whom to call by today."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    rows, page = call_list(person, today, request.GET.get("page"))
    return render(request, "accounts/call_list.html", {"rows": rows, "page": page})


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a contact in full; also what a caller says (call intake)."""
    person = person_of(request)
    customer = customer_for(person, pk)
    contacts = [(one.pk, one.name) for one in contacts_of(pk)]
    form = ContactEntryForm(posted(request), contacts=contacts)
    page = FormPage(
        f"Contact with {customer.name}", "Keep it", reverse("customer", args=[pk]), "It is kept."
    )
    return one_form(
        request, form, page,
        lambda typed: note_contact(customer_id=pk, by=person, now=timezone.now(), **typed),
    )  # fmt: skip


@requires(Permission.EDIT_CUSTOMERS)
@require_POST
def no_answer(request: HttpRequest, pk: int) -> HttpResponse:
    """One key press: called, nobody answered; the next working day is proposed."""
    note_contact(
        customer_id=pk,
        way=Way.CALL,
        outcome=Outcome.NO_ANSWER,
        by=person_of(request),
        now=timezone.now(),
    )
    if "list" in request.POST:
        return redirect("calls")
    return redirect("customer", pk)
