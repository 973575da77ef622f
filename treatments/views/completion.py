"""The list of records with gaps."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.selectors.completion import to_complete


@requires(Permission.COMPLETE_RECORDS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Own records with gaps, for the office those of its branches, the soonest deadline first."""
    rows, page = to_complete(person_of(request), timezone.now(), request.GET.get("page"))
    return render(request, "treatments/to_complete.html", {"rows": rows, "page": page})
