"""The customer's notice as a paper."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.notices import notice_for
from treatments.reports.notice import draw_notice


@require_GET
@requires(Permission.SEE_OWN_PAGE)
def visit_notice(request: HttpRequest, pk: int) -> HttpResponse:
    """The notice of a visit as a PDF."""
    paper = draw_notice(notice_for(person_of(request), pk, demo=settings.DEMO))
    name = f'inline; filename="notice-{pk}.pdf"'
    return HttpResponse(
        paper, content_type="application/pdf", headers={"Content-Disposition": name}
    )
