"""The calendar of a week, and moving one visit by form, by keyboard or by dragging."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.pages import local_today
from accounts.selectors.people import branches_for, technicians_of
from scheduling.forms.filters import DayForm
from scheduling.forms.office import MoveForm, posted
from scheduling.selectors.calendar import calendar_page
from scheduling.selectors.visit_pages import VisitPage, visit_page
from scheduling.services.moving import move_visit


@requires(Permission.BOOK_VISITS)
@require_GET
def week(request: HttpRequest) -> HttpResponse:
    """The week of one branch, technician by technician."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    branches = [(one.pk, one.name) for one in branches_for(person)]
    form = DayForm(request.GET, branches=branches)
    wanted = form.wanted()
    sheet = calendar_page(person, wanted.get("date", today), wanted.get("branch"), today)
    shown: dict[str, Any] = {
        "form": form,
        "sheet": sheet,
        "before": sheet.first - timedelta(days=7),
        "after": sheet.first + timedelta(days=7),
    }
    return render(request, "scheduling/calendar.html", shown)


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the new place and move the visit there, or say why it stays."""
    person = person_of(request)
    sheet = visit_page(person, pk)
    form = _form(request, sheet)
    if not form.is_bound or not form.is_valid():
        return _page(request, sheet, form, status=422 if form.is_bound else 200)
    try:
        visit = move_visit(visit_id=pk, by=person, now=timezone.now(), **form.place())
    except Refused as refused:
        return _page(request, sheet, form, status=422, refused=refused)
    messages.success(
        request,
        f"Moved: {visit.property.street}, now {visit.day:%a, %b} {visit.day.day}, "
        f"{visit.technician.full_name}.",
    )
    of_branch = f"date={visit.day.isoformat()}&branch={visit.property.branch_id}"
    return redirect(f"{reverse('calendar')}?{of_branch}")


def _form(request: HttpRequest, sheet: VisitPage) -> MoveForm:
    offered = [(one.pk, one.full_name) for one in technicians_of(sheet.visit.property.branch_id)]
    asked = {name: request.GET[name] for name in MoveForm.base_fields if name in request.GET}
    return MoveForm(posted(request), technicians=offered, initial=sheet.place | asked)


def _page(
    request: HttpRequest,
    sheet: VisitPage,
    form: MoveForm,
    *,
    status: int,
    refused: Refused | None = None,
) -> HttpResponse:
    shown = {"sheet": sheet, "visit": sheet.visit, "form": form, "refused": refused}
    return render(request, "scheduling/visit_move.html", shown, status=status)
