"""The page of one record."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.selectors.entry_history import history_for
from treatments.selectors.holds import holds_of
from treatments.selectors.record_page import record_page


@requires(Permission.SEE_OWN_PAGE)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one record with its judgements, its leaf and its windows."""
    person = person_of(request)
    page = record_page(person, pk)
    shown = {
        "page": page,
        "history": history_for(person, page.record),
        "holds": holds_of(page.record.pk),
    }
    return render(request, "treatments/record.html", shown)
