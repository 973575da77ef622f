"""The use log and its spreadsheet."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.csv_out import csv_lines
from accounts.selectors.people import branches_for
from scheduling.forms.filters import UseLogForm
from scheduling.selectors.use_log import HEADER, export_rows, filter_of, use_log_page
from treatments.selectors.records import applicators_used, products_used


def _form(request: HttpRequest) -> UseLogForm:
    return UseLogForm(
        request.GET,
        branches=[(one.pk, one.name) for one in branches_for(person_of(request))],
        products=products_used(),
        applicators=applicators_used(),
    )


@requires(Permission.SEE_USE_LOG)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Every application with product, rate, area and applicator, newest first."""
    form = _form(request)
    log = use_log_page(filter_of(form.wanted()), request.GET.get("page"))
    shown = {"form": form, "log": log, "page": log.page, "is_narrowed": form.is_narrowed()}
    return render(request, "scheduling/use_log.html", shown)


@requires(Permission.EXPORT_USE_LOG)
@require_GET
def export(request: HttpRequest) -> StreamingHttpResponse:
    """The same selection as a CSV file, written while it is read."""
    rows = export_rows(filter_of(_form(request).wanted()))
    answer = StreamingHttpResponse(csv_lines(HEADER, rows), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="use-log.csv"'
    return answer
