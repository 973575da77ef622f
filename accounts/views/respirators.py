"""Respirator papers of a person: entered, corrected, ended."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.forms import EndPaperForm, RespiratorForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.respirators import medical_until
from accounts.selectors.people import person_for, respirator_paper_for, respirator_papers
from accounts.services.respirators import (
    add_respirator_paper,
    end_respirator_paper,
    supersede_respirator_paper,
)
from accounts.views.one_form import FormPage, one_form, posted

ONE_CLEARANCE = "The medical clearance is of the person: the newest paper's holds for every kind."


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
        source=f"Enter them again after each test; the newest of a kind count. {ONE_CLEARANCE}",
        two=True,
    )
    cleared = medical_until(respirator_papers(pk))
    return one_form(
        request,
        RespiratorForm(posted(request), initial={"medical_until": cleared}),
        words,
        lambda entered: add_respirator_paper(person_id=pk, **entered, by=asking),
    )


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Put corrected papers in the place of those that are wrong."""
    asking = person_of(request)
    paper = respirator_paper_for(asking, pk)
    words = FormPage(
        f"Correct the papers of {paper.person.full_name}",
        "Save the correction",
        paper.person.get_absolute_url(),
        "The papers are corrected.",
        source=f"What was written before stays readable on the sheet. {ONE_CLEARANCE}",
        two=True,
    )
    cleared = medical_until(respirator_papers(paper.person_id))
    return one_form(
        request,
        RespiratorForm(posted(request), initial={**vars(paper), "medical_until": cleared}),
        words,
        lambda entered: supersede_respirator_paper(paper_id=pk, **entered, by=asking),
    )


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End papers before their days are over."""
    asking = person_of(request)
    paper = respirator_paper_for(asking, pk)
    words = FormPage(
        f"End the papers of {paper.person.full_name} for {paper.respirator}",
        "End these papers",
        paper.person.get_absolute_url(),
        "The papers are ended.",
        source="When the medical clearance itself was withdrawn, end the other papers too.",
        danger=True,
    )
    return one_form(
        request,
        EndPaperForm(posted(request)),
        words,
        lambda entered: end_respirator_paper(paper_id=pk, **entered, by=asking, now=timezone.now()),
    )
