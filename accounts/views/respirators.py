"""Respirator papers of a person."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.forms import RespiratorForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.people import person_for
from accounts.services.respirators import add_respirator_paper
from accounts.views.one_form import FormPage, one_form, posted


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter medical clearance, fit test and cartridge date."""
    asking = person_of(request)
    person = person_for(asking, pk)
    words = FormPage(
        f"Respirator papers of {person.full_name}",
        "Add the papers",
        person.get_absolute_url(),
        "The papers are added.",
        source="Enter them again after each test or change of cartridge; the newest count.",
        two=True,
    )
    return one_form(
        request,
        RespiratorForm(posted(request)),
        words,
        lambda entered: add_respirator_paper(person_id=pk, **entered, by=asking),
    )
