"""Renewals: the list, one renewal, declining and reopening it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.register import RUNS_OUT
from accounts.selectors.open_items import how_many
from accounts.selectors.pages import local_today, page_of
from accounts.selectors.people import branches_for
from scheduling.forms.filters import RenewalFilterForm
from scheduling.forms.office import ReasonForm, posted
from scheduling.selectors.renewal_figures import figures_page
from scheduling.selectors.renewal_pages import (
    RenewalFilter,
    renewal_for,
    renewals_page,
    row_of,
    towns_of,
)
from scheduling.selectors.renewal_words import scale_for
from scheduling.services.cancel import decline_renewal, reopen_renewal


@requires(Permission.SEE_RENEWALS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """The renewals in the order of days left."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    branches = [(one.pk, one.name) for one in branches_for(person)]
    form = RenewalFilterForm(request.GET, branches=branches, towns=towns_of(person))
    page = renewals_page(person, RenewalFilter(**form.wanted()), today, request.GET.get("page"))
    shown = {"form": form, "list": page, "page": page.page, "scale": scale_for(today)}
    shown["running_out"] = how_many(person, RUNS_OUT)
    return render(request, "scheduling/renewals.html", shown)


@requires(Permission.SEE_RENEWALS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One renewal with its zones and what can be done with it."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    shown = {"row": row_of(renewal_for(person, pk), today), "scale": scale_for(today)}
    return render(request, "scheduling/renewal.html", shown)


@requires(Permission.SEE_USE_LOG)
@require_GET
def figures(request: HttpRequest) -> HttpResponse:
    """The manager's figures: booked before the lapse, lead time, days not covered, declined."""
    person = person_of(request)
    sheet = figures_page(person, local_today(person, timezone.now()))
    page = page_of(sheet.rows, request.GET.get("page"))
    return render(request, "scheduling/renewal_figures.html", {"sheet": sheet, "page": page})


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask why the customer does not want it, then decline it."""
    person = person_of(request)
    row = row_of(renewal_for(person, pk), local_today(person, timezone.now()))
    form = ReasonForm(posted(request))
    if form.is_valid():
        decline_renewal(renewal_id=row.pk, by=person, now=timezone.now(), **form.cleaned_data)
        messages.success(request, f"Declined: {row.street}. It stays on the list with the reason.")
        return redirect("renewals")
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/decline.html", {"row": row, "form": form}, status=status)


@requires(Permission.BOOK_VISITS)
@require_POST
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a declined renewal back among those to book."""
    person = person_of(request)
    renewal = renewal_for(person, pk)
    reopen_renewal(renewal_id=renewal.pk, by=person, now=timezone.now())
    messages.success(request, f"To book again: {renewal.property.street}.")
    return redirect("renewal", pk=pk)
