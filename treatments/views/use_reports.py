"""Totals and the three reports made of them, on the page and as files."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import page_of
from treatments.forms.use_reports import MonthForm, Offered, ReportForm, TotalsForm, YearForm
from treatments.reports.use_files import csv_of, workbook_of
from treatments.reports.use_paper import Block, Column, UsePaper, on_paper
from treatments.reports.use_pdf import draw_use_paper
from treatments.rules.use_reports import TITLES, Report
from treatments.selectors.use_charts import charts_of
from treatments.selectors.use_choices import defaults, offered_choices, wanted_report
from treatments.selectors.use_papers import Gathered, Wanted, gather
from treatments.services.total_findings import note_difference

FORMS: dict[Report, type[ReportForm]] = {
    Report.TOTALS: TotalsForm,
    Report.ANNUAL: YearForm,
    Report.COUNTY: MonthForm,
    Report.MASS: YearForm,
}
FILES = ("pdf", "csv", "xlsx")
Cells = list[tuple[Column, str]]
SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@requires(Permission.SEE_USE_LOG)
@require_GET
def show(request: HttpRequest, report: str) -> HttpResponse:
    """Show a report with its chart; `compare=1` asks the log however long it is."""
    kind = _kind(report)
    form = _form(request, kind)
    always = True if request.GET.get("compare") else None
    found = _gathered(request, kind, form, compare=always)
    columns, rows, footer = _table(found.paper.main)
    page = page_of(rows, request.GET.get("page"))
    charts, others = charts_of(found), found.paper.others
    shown = {
        "form": form,
        "report": report,
        "paper": found.paper,
        "branch": found.only_branch,
        "reports": [(one.value, TITLES[one]) for one in Report if one is not kind],
        "files": FILES,
        "columns": columns,
        "page": page,
        "rows": page.object_list,
        "footer": footer,
        "others": [(block, *_table(block)) for block in others],
        "charts": charts,
        "keys": _keys({"charts": bool(charts), "others": any(one.rows for one in others)}),
        "amountless": found.amountless,
    }
    return render(request, "treatments/use_report.html", shown)


def _keys(there: dict[str, bool]) -> dict[str, str]:
    """The letter of each part of the sheet that is there, in their order."""
    parts = [*(name for name, is_there in there.items() if is_there), "log", "out"]
    return dict(zip(parts, "BCDE", strict=False))


def _table(block: Block) -> tuple[tuple[Column, ...], list[Cells], Cells]:
    """Columns, rows and footer with each value beside its column."""
    columns, rows, footer = on_paper(block)
    return columns, [list(zip(columns, row, strict=True)) for row in rows], _beside(columns, footer)


def _beside(columns: tuple[Column, ...], footer: list[str]) -> Cells:
    return list(zip(columns, footer, strict=True)) if footer else []


@requires(Permission.EXPORT_USE_LOG)
@require_GET
def download(request: HttpRequest, report: str, form: str) -> HttpResponse:
    """Give a report as csv, xlsx or pdf, always compared with the log."""
    kind = _kind(report)
    if form not in FILES:
        raise Http404("No such file.")
    paper = _gathered(request, kind, _form(request, kind), compare=True).paper
    content, content_type = _file(paper, form)
    answer = HttpResponse(content, content_type=content_type)
    name = f"{report}-{paper.title.rpartition(', ')[2]}".replace(" ", "-").lower()
    answer["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    return answer


def _file(paper: UsePaper, form: str) -> tuple[bytes | str, str]:
    if form == "csv":
        return csv_of(paper), "text/csv; charset=utf-8"
    if form == "xlsx":
        return workbook_of(paper), SHEET
    return draw_use_paper(paper), "application/pdf"


def _kind(report: str) -> Report:
    try:
        return Report(report)
    except ValueError as failure:
        raise Http404("No such report.") from failure


def _form(request: HttpRequest, kind: Report) -> ReportForm:
    """The choices of the address; what is not chosen shows its default."""
    today, offered = timezone.localdate(), Offered(**offered_choices(person_of(request)))
    made: Any = FORMS[kind]
    data = request.GET.copy()
    for name, value in defaults(kind, today).items():
        data.setdefault(name, str(value))
    return made(data, offered=offered, today=today)  # type: ignore[no-any-return]


def _gathered(
    request: HttpRequest, kind: Report, form: ReportForm, *, compare: bool | None
) -> Gathered:
    now = timezone.localtime()
    wanted = _wanted(kind, form, now.date())
    found = gather(wanted, person_of(request), now=now, demo=settings.DEMO, compare=compare)
    if found.reconciled and not found.reconciled.is_whole:
        note_difference(found.reconciled, found.scope, found.branches)
    return found


def _wanted(kind: Report, form: ReportForm, today: date) -> Wanted:
    return wanted_report(kind, form.wanted(), today, form.in_words())
