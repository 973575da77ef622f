"""The page of one property."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.property_pages import property_page


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Zones, residual line, applications, visits, who and access."""
    person = person_of(request)
    sheet = property_page(person, pk, timezone.now())
    return render(request, "scheduling/property.html", {"sheet": sheet, "place": sheet.place})
