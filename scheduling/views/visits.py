"""One visit: its page and its cancellation."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.forms.office import ReasonForm, posted
from scheduling.selectors.visit_pages import visit_page
from scheduling.services.cancel import cancel_visit


@requires(Permission.BOOK_VISITS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Facts, state, records and notice of one visit."""
    sheet = visit_page(person_of(request), pk)
    return render(request, "scheduling/visit.html", {"sheet": sheet, "visit": sheet.visit})


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Say once what canceling does, ask why, then cancel."""
    person = person_of(request)
    sheet = visit_page(person, pk)
    form = ReasonForm(posted(request))
    if form.is_valid():
        cancel_visit(visit_id=pk, by=person, now=timezone.now(), **form.cleaned_data)
        messages.success(request, f"Canceled: {sheet.visit.property.street}, {sheet.words.on}.")
        return redirect("visit", pk=pk)
    shown = {"sheet": sheet, "visit": sheet.visit, "form": form}
    return render(
        request, "scheduling/visit_cancel.html", shown, status=422 if form.is_bound else 200
    )
