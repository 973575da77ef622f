"""The register: what runs out, what was in force on a day, and one's own papers."""

from __future__ import annotations

from datetime import date

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.forms.register import AsOfForm, RegisterFilter
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.reports.register_sheet import draw_register
from accounts.reports.register_words import HEADER, RegisterSheet
from accounts.rules.csv_out import write_csv
from accounts.selectors.pages import branch_choices, local_now, local_today, page_of
from accounts.selectors.register_as_of import in_force_on
from accounts.selectors.register_gaps import register_gaps
from accounts.selectors.register_pages import chosen, counts_of, line_rows, people_choices
from scheduling.selectors.register import own_register, whole_register


@requires(Permission.SEE_PEOPLE)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Everything that runs out, soonest first."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    branches = branch_choices(person)
    form = RegisterFilter(request.GET, branches=branches, people=people_choices(person))
    wanted = form.cleaned_data if form.is_valid() else {}
    lines = chosen(
        whole_register(person, today),
        branch_id=wanted.get("branch"),
        kind=wanted.get("kind", ""),
        person_id=wanted.get("person"),
    )
    page = page_of(lines, request.GET.get("page"))
    shown = {
        "rows": line_rows(page.object_list, today),
        "page": page,
        "counts": counts_of(lines, today),
        "form": form,
        "gaps": register_gaps(person, today),
        "as_of": AsOfForm(initial={"on": today}),
        "branches": branches,
    }
    return render(request, "scheduling/register.html", shown)


@requires(Permission.SEE_OWN_PAGE)
@require_GET
def own(request: HttpRequest) -> HttpResponse:
    """What runs out of one's own papers."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    lines = own_register(person, today)
    shown = {"rows": line_rows(lines, today), "counts": counts_of(lines, today)}
    return render(request, "scheduling/field/papers.html", shown)


@requires(Permission.SEE_PEOPLE)
@require_GET
def as_csv(request: HttpRequest) -> HttpResponse:
    """What was in force on a day, for a spreadsheet."""
    on = _asked(request)
    rows = [row.cells for row in in_force_on(person_of(request), on)]
    answer = HttpResponse(write_csv(HEADER, rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="register-{on}.csv"'
    return answer


@requires(Permission.SEE_PEOPLE)
@require_GET
def as_pdf(request: HttpRequest) -> HttpResponse:
    """What was in force on a day, on paper."""
    on, person = _asked(request), person_of(request)
    sheet = RegisterSheet(
        on=on,
        branches=", ".join(name for _, name in branch_choices(person)),
        rows=in_force_on(person, on),
        drawn_at=local_now(person, timezone.now()),
        drawn_for=person.full_name,
        is_demonstration=settings.DEMO,
    )
    answer = HttpResponse(draw_register(sheet), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="register-{on}.pdf"'
    return answer


def _asked(request: HttpRequest) -> date:
    """The day asked for; today where none is."""
    if not request.GET.get("on"):
        return local_today(person_of(request), timezone.now())
    form = AsOfForm(request.GET)
    if not form.is_valid():
        raise Refused("day", "That is not a day. Write it as 2026-11-12 or 11/12/2026.")
    day: date = form.cleaned_data["on"]
    return day
