"""Weekly shifts and time off of one technician."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.pages import local_today
from scheduling.forms.office import ShiftForm, TimeOffForm, posted
from scheduling.models.days import WEEKDAYS
from scheduling.selectors.hours_pages import HoursPage, hours_page
from scheduling.services.shifts import add_time_off, remove_time_off
from scheduling.services.weeks import WeekdayHours, set_week


@requires(Permission.EDIT_SHIFTS)
@require_http_methods(["GET", "POST"])
def shifts(request: HttpRequest, pk: int) -> HttpResponse:
    """The week as a table of hours; saving sets the whole week."""
    sheet = _sheet(request, pk)
    week = _week_forms(request, sheet)
    if request.method == "GET" or not all(form.is_valid() for form in week):
        return _page(request, sheet, week=week, status=200 if request.method == "GET" else 422)
    hours = [_hours(form) for form in week if form.cleaned_data["works"]]
    try:
        set_week(technician_id=pk, week=hours, by=person_of(request), now=timezone.now())
    except Refused as refused:
        return _page(request, sheet, week=week, week_refused=refused, status=422)
    messages.success(request, f"Hours of {sheet.technician.full_name} are saved.")
    return redirect("shifts", pk=pk)


@requires(Permission.EDIT_SHIFTS)
@require_http_methods(["GET", "POST"])
def time_off_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add days away; booked visits inside are named first and kept only when asked for."""
    sheet = _sheet(request, pk)
    form = TimeOffForm(posted(request))
    if not form.is_valid():
        return _page(request, sheet, time_off=form, status=422 if form.is_bound else 200)
    keep = "keep_visits" in request.POST
    entered = form.cleaned_data | {"technician_id": pk, "keep_visits": keep}
    try:
        add_time_off(**entered, by=person_of(request), now=timezone.now())
    except Refused as refused:
        return _page(request, sheet, time_off=form, refused=refused, status=422)
    messages.success(request, f"Time off of {sheet.technician.full_name} is added.")
    return redirect("shifts", pk=pk)


@requires(Permission.EDIT_SHIFTS)
@require_POST
def time_off_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take days away back."""
    gone = remove_time_off(time_off_id=pk, by=person_of(request), now=timezone.now())
    messages.success(request, "The time off is removed; these days can be booked again.")
    return redirect("shifts", pk=gone.technician_id)


def _sheet(request: HttpRequest, pk: int) -> HoursPage:
    person = person_of(request)
    return hours_page(person, pk, local_today(person, timezone.now()))


def _week_forms(request: HttpRequest, sheet: HoursPage) -> list[ShiftForm]:
    return [ShiftForm(posted(request), weekday=n, initial=sheet.initial(n)) for n, _ in WEEKDAYS]


def _hours(form: ShiftForm) -> WeekdayHours:
    entered = {name: value for name, value in form.cleaned_data.items() if name != "works"}
    return WeekdayHours(weekday=form.weekday, **entered)


def _page(
    request: HttpRequest,
    sheet: HoursPage,
    *,
    status: int,
    week: list[ShiftForm] | None = None,
    time_off: TimeOffForm | None = None,
    week_refused: Refused | None = None,
    refused: Refused | None = None,
) -> HttpResponse:
    shown = {
        "sheet": sheet,
        "week": week or [ShiftForm(weekday=n, initial=sheet.initial(n)) for n, _ in WEEKDAYS],
        "time_off": time_off or TimeOffForm(),
        "week_refused": week_refused,
        "refused": refused,
    }
    return render(request, "scheduling/hours.html", shown, status=status)
