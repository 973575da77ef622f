"""Exclusion tasks: the office's list, and the end of one."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import page_of
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.inspections import EndTaskForm, TaskListForm
from scheduling.selectors.reach import reachable
from scheduling.services.inspecting import end_task_here
from scheduling.views.inspections import today_of
from sites.rules.sealing import LIVE_QUESTION, seasons_on
from sites.selectors.exclusion import VIEWS, task_for, tasks_for


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Tasks that are open, past due, of customers, or ended."""
    person, today = person_of(request), today_of(request)
    form = TaskListForm(request.GET or None, views=VIEWS)
    view = form.cleaned_data["show"] if form.is_valid() else ""
    rows = page_of(tasks_for(person, view or "open", today), request.GET.get("page"))
    shown = {"rows": rows, "page": rows, "form": form, "today": today, "view": view or "open"}
    return render(request, "scheduling/exclusion_tasks.html", shown)


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a task: done, referred or withdrawn."""
    by, today = person_of(request), today_of(request)
    task = task_for(reachable(by, today), pk)
    form = EndTaskForm(posted(request), request.FILES or None, asks=task.asks_for_animals)
    warned = [
        f"{one.words} ({one.source}.)"
        for one in seasons_on(today, task.finding.inspection.property.state)
        if task.asks_for_animals
    ]
    told = [LIVE_QUESTION if task.asks_for_animals else "", task.stays_open, task.advice, *warned]
    words = FormPage(
        f"End the task: {task}",
        "End the task",
        reverse("inspections_of", args=[task.finding.inspection.property_id]),
        "The task is ended.",
        source=" ".join(part for part in told if part),
    )

    def save(entered: dict[str, Any]) -> None:
        end_task_here(task_id=pk, **entered, by=by, now=timezone.now(), today=today)

    return one_form(request, form, words, save)
