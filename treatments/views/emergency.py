"""The emergency sheet of one product."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.reports.emergency_sheet import draw_emergency_sheet
from treatments.reports.emergency_words import EmergencySheet
from treatments.selectors.emergency_sheets import product_sheet


@requires(Permission.SEE_LABELS)
@require_GET
def of_product(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet of one product as a PDF."""
    return paper(product_sheet(pk, person_of(request), timezone.now(), demo=settings.DEMO))


def paper(sheet: EmergencySheet) -> HttpResponse:
    """A sheet as an answer, shown in the browser."""
    name = {"Content-Disposition": 'inline; filename="emergency-sheet.pdf"'}
    return HttpResponse(draw_emergency_sheet(sheet), content_type="application/pdf", headers=name)
