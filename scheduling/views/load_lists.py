"""What to put on the trucks for a day."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from scheduling.forms.filters import LoadDayForm
from scheduling.selectors.load_lists import load_page, own_load_page

A_DAY = timedelta(days=1)


@requires(Permission.SEE_STOCK)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """The load list of every technician, for tomorrow unless another day is asked for."""
    form = LoadDayForm(request.GET)
    day = form.wanted().get("date") or _tomorrow(request)
    shown = {
        "page": load_page(person_of(request), day),
        "form": LoadDayForm({"date": day}),
        "errors": form.errors,
    }
    return render(request, "scheduling/load_list.html", shown, status=422 if form.errors else 200)


@requires(Permission.WORK_STOPS)
@require_GET
def own(request: HttpRequest) -> HttpResponse:
    """The technician's own load list for tomorrow."""
    page = own_load_page(person_of(request), _tomorrow(request))
    return render(request, "scheduling/field/load_list.html", {"page": page})


def _tomorrow(request: HttpRequest) -> date:
    return local_today(person_of(request), timezone.now()) + A_DAY
