"""Asking for corrections and voids, and the list of what waits."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.entries import CorrectionForm, ReasonForm
from treatments.selectors.corrections import record_to_complete, request_for
from treatments.selectors.entries import facts_of
from treatments.selectors.entry_choices import entry_choices
from treatments.selectors.entry_history import may_decide, request_row, request_rows
from treatments.services.corrections import ask_correction, ask_void, decline

ASKED = "It is asked for. Nothing changes until a manager approves it."


@requires(Permission.COMPLETE_RECORDS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """What waits for a second person, and what was decided."""
    rows = request_rows(person_of(request))
    waits = sum(row.request.state == "asked" for row in rows)
    return render(request, "treatments/corrections.html", {"rows": rows, "waits": waits})


@requires(Permission.COMPLETE_RECORDS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One request, old and new side by side."""
    person = person_of(request)
    row = request_row(person, request_for(person, pk))
    return render(
        request, "treatments/correction.html", {"row": row, "may_decide": may_decide(person)}
    )


@requires(Permission.COMPLETE_RECORDS)
@require_http_methods(["GET", "POST"])
def ask(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for a correction of a record."""
    person = person_of(request)
    record = record_to_complete(person, pk)
    said, choices = facts_of(record), entry_choices(record)
    form = CorrectionForm(posted(request), said=said, choices=choices)

    def save(typed: dict[str, Any]) -> None:
        ask_correction(
            record_id=pk, facts=form.facts(), reason=typed["reason"], by=person, now=timezone.now()
        )

    words = FormPage(
        f"Ask for a correction of record {pk}",
        "Ask for it",
        reverse("record", args=[pk]),
        ASKED,
        source="Change what is wrong and leave the rest. A second person approves it.",
        two=True,
    )
    return one_form(request, form, words, save)


@requires(Permission.COMPLETE_RECORDS)
@require_http_methods(["GET", "POST"])
def void(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask to void a record."""
    person = person_of(request)
    record_to_complete(person, pk)

    def save(typed: dict[str, Any]) -> None:
        ask_void(record_id=pk, reason=typed["reason"], by=person, now=timezone.now())

    words = FormPage(
        f"Ask to void record {pk}",
        "Ask to void it",
        reverse("record", args=[pk]),
        ASKED,
        source="For work that was never done or is recorded twice. It stays readable and counts "
        "nowhere.",
        danger=True,
    )
    return one_form(request, ReasonForm(posted(request)), words, save)


@requires(Permission.DECIDE_CORRECTIONS)
@require_http_methods(["GET", "POST"])
def turn_down(request: HttpRequest, pk: int) -> HttpResponse:
    """Decline a request."""
    person = person_of(request)
    asked = request_for(person, pk)

    def save(typed: dict[str, Any]) -> None:
        decline(request_id=pk, reason=typed["reason"], by=person, now=timezone.now())

    words = FormPage(
        "Decline this request", "Decline it", reverse("corrections"), "Declined.", source=str(asked)
    )
    return one_form(request, ReasonForm(posted(request)), words, save)
