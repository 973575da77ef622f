"""One sighting, answered by the office or by the technician who has a stop there."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission, allows
from accounts.views.one_form import posted, saved
from scheduling.forms.logbook import AnswerForm
from scheduling.selectors.sightings import sighting_page
from sites.services.sightings import answer_sighting


@requires(Permission.ANSWER_SIGHTINGS)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """What was seen, the answers, and a form for another one."""
    asking, now = person_of(request), timezone.now()
    page = sighting_page(asking, pk, now)
    form = AnswerForm(posted(request), named=page.named)

    def save(entered: dict[str, Any]) -> None:
        answer_sighting(
            sighting_id=pk,
            note=entered["note"],
            done_in=entered["done_in"],
            done_in_words=form.words,
            within_reach=page.within_reach,
            by=asking,
            now=now,
        )

    if form.is_bound and saved(form, save):
        messages.success(request, "The answer stands in the logbook.")
        return redirect("sighting", pk)
    status = 422 if form.is_bound else 200
    wide = allows(asking, Permission.SEE_CUSTOMERS)
    shown = {"page": page, "form": form, "wide": wide}
    return render(request, "scheduling/sighting.html", shown, status=status)
