"""Filling a gap of a record and approving a correction: what visit and renewals follow."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.services.correcting import approve_request, fill_gap_of
from treatments.forms.entries import GapForm
from treatments.selectors.corrections import record_to_complete
from treatments.selectors.entries import facts_of
from treatments.selectors.entry_choices import entry_choices
from treatments.selectors.entry_rules import gaps_to_fill


@requires(Permission.COMPLETE_RECORDS)
@require_http_methods(["GET", "POST"])
def fill(request: HttpRequest, pk: int) -> HttpResponse:
    """Fill what a record left empty."""
    person = person_of(request)
    record = record_to_complete(person, pk)
    said, gaps = facts_of(record), gaps_to_fill(record)
    form = GapForm(
        posted(request),
        said=said,
        names=gaps.fields,
        asked=gaps.asked,
        choices=entry_choices(record),
    )

    def save(typed: dict[str, Any]) -> None:
        fill_gap_of(
            record_id=pk,
            facts=form.facts(),
            by=person,
            now=timezone.now(),
            client_ref=typed["client_ref"],
        )

    words = FormPage(
        f"Fill a gap of record {pk}",
        "Add it to the record",
        reverse("record", args=[pk]),
        "It is added, with today's time.",
        source=gaps.sentence,
        two=True,
    )
    return one_form(request, form, words, save)


@requires(Permission.DECIDE_CORRECTIONS)
@require_POST
def approve(request: HttpRequest, pk: int) -> HttpResponse:
    """Approve a correction or a void."""
    entries = approve_request(request_id=pk, by=person_of(request), now=timezone.now())
    for entry in entries:
        messages.success(request, f"Record {entry.pk} stands in the place of {entry.corrects_id}.")
    return redirect(entries[0])
