"""What the label does not name: the questions, and the certified applicator's signature."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.decisions import DecisionForm
from treatments.selectors.decisions import question_for, question_rows, question_words
from treatments.services.decisions import decide_unlisted_use


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """What waits for a certified applicator, and what was decided."""
    rows = question_rows(person_of(request))
    waits = sum(row.decided_at is None for row in rows)
    return render(request, "treatments/decisions.html", {"rows": rows, "waits": waits})


@requires(Permission.SEE_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def decide(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign yes or no."""
    person = person_of(request)
    question = question_for(person, pk)
    words = FormPage(
        "Decide about a use that the label does not name",
        "Sign the decision",
        reverse("unlisted_uses"),
        "It is signed.",
        source=question_words(question),
    )
    return one_form(
        request,
        DecisionForm(posted(request)),
        words,
        lambda entered: decide_unlisted_use(
            question_id=pk,
            is_allowed=entered["answer"] == "yes",
            reason=entered["reason"],
            by=person,
            now=timezone.now(),
        ),
    )
