"""The planned day of all technicians."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.selectors.people import branches_for
from scheduling.forms.filters import DayForm
from scheduling.selectors.day_pages import day_page
from scheduling.services.planning import plan_day


@requires(Permission.PLAN_ROUTES)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Stops in order for every technician; a post plans the day and says what came of it."""
    person = person_of(request)
    branches = [(one.pk, one.name) for one in branches_for(person)]
    asked = request.POST if request.method == "POST" else request.GET
    form = DayForm(asked, branches=branches)
    wanted = form.wanted()
    day = wanted.get("date", local_today(person, timezone.now()))
    is_asked = request.method == "POST" and form.is_valid()
    chosen = {"day": day, "branch_id": wanted.get("branch")}
    report = plan_day(**chosen, by=person, now=timezone.now()) if is_asked else None
    shown: dict[str, Any] = {
        "form": DayForm({"date": day, "branch": wanted.get("branch")}, branches=branches),
        "errors": form.errors,
        "sheet": day_page(person, **chosen),
        "report": report,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
    }
    return render(request, "scheduling/day.html", shown, status=422 if form.errors else 200)
