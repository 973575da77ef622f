"""The emergency sheet of a technician's day and of a property."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.emergency import day_sheet
from treatments.selectors.emergency_sheets import property_sheet
from treatments.views.emergency import paper


@requires(Permission.WORK_STOPS)
@require_GET
def of_day(request: HttpRequest) -> HttpResponse:
    """What is aboard and what today's stops need, as a PDF."""
    return paper(day_sheet(person_of(request), timezone.now(), demo=settings.DEMO))


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def of_property(request: HttpRequest, pk: int) -> HttpResponse:
    """What was put down at a property of late, as a PDF."""
    return paper(property_sheet(pk, person_of(request), timezone.now(), demo=settings.DEMO))
