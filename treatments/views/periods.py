"""Closed periods of the log."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.people import branch_for
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.periods import CloseForm, ReopenForm
from treatments.selectors.periods import periods_for
from treatments.services.periods import close_period, reopen_period


@requires(Permission.CLOSE_PERIODS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Through which day each branch's log is closed."""
    return render(request, "treatments/periods.html", {"rows": periods_for(person_of(request))})


@requires(Permission.CLOSE_PERIODS)
@require_http_methods(["GET", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a branch's log through a day."""
    person = person_of(request)

    def save(typed: dict[str, Any]) -> None:
        close_period(branch_id=pk, through=typed["through"], by=person, now=timezone.now())

    words = FormPage(
        f"Close the log of {branch_for(person, pk).name}",
        "Close it",
        reverse("periods"),
        "The period is closed.",
        source="Records dated up to this day change no more until somebody reopens the period.",
    )
    return one_form(request, CloseForm(posted(request)), words, save)


@requires(Permission.CLOSE_PERIODS)
@require_http_methods(["GET", "POST"])
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Reopen a branch's log from a day on."""
    person = person_of(request)

    def save(typed: dict[str, Any]) -> None:
        reopen_period(branch_id=pk, **typed, by=person, now=timezone.now())

    words = FormPage(
        f"Reopen the log of {branch_for(person, pk).name}",
        "Reopen it",
        reverse("periods"),
        "The period is open again.",
        source="The reason stays in the log.",
    )
    return one_form(request, ReopenForm(posted(request)), words, save)
