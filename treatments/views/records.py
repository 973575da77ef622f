"""The page of one record."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.reports.record_sheet import draw_record
from treatments.selectors.entry_history import history_for
from treatments.selectors.holds import holds_of
from treatments.selectors.record_page import record_page
from treatments.selectors.record_sheet import record_sheet


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


@requires(Permission.SEE_OWN_PAGE)
@require_GET
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """One version of a record as a PDF."""
    sheet = record_sheet(person_of(request), pk, now=timezone.now(), demo=settings.DEMO)
    name = {"Content-Disposition": f'inline; filename="record-{pk}.pdf"'}
    return HttpResponse(draw_record(sheet), content_type="application/pdf", headers=name)
