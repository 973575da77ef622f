"""Entering what the register keeps: training, credits, cycles, papers of the firm."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.forms.register import (
    CreditCorrection,
    CreditForm,
    CycleCorrection,
    CycleForm,
    FirmPaperCorrection,
    FirmPaperForm,
    NewFirmPaperForm,
    TrainingCorrection,
    TrainingForm,
    VoidForm,
)
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.register_entries import (
    CreditEntry,
    CycleEntry,
    Entry,
    FirmPaperEntry,
    TrainingEntry,
)
from accounts.selectors.pages import branch_choices, local_today
from accounts.selectors.people import person_for
from accounts.selectors.register import paper_for
from accounts.selectors.register_pages import firm_papers
from accounts.services.register import (
    add_credits,
    add_cycle,
    add_firm_paper,
    add_training,
    correct_paper,
    renew_firm_paper,
    void_paper,
)
from accounts.views.one_form import FormPage, one_form, posted

STAYS = "What was entered before stays readable, with the reason."


@dataclass(frozen=True)
class Table:
    """One table of the register: its words, its forms, how a row is entered."""

    what: str
    form: type[forms.Form]
    correction: type[forms.Form]
    entry: Callable[..., Entry]
    add: Callable[..., object] | None = None
    source: str = ""


TABLES = {
    "training": Table(
        "training",
        TrainingForm,
        TrainingCorrection,
        TrainingEntry,
        add_training,
        "For work with restricted-use products under a certified applicator (40 CFR 171.201).",
    ),
    "education": Table("credits", CreditForm, CreditCorrection, CreditEntry, add_credits),
    "cycle": Table(
        "a cycle",
        CycleForm,
        CycleCorrection,
        CycleEntry,
        add_cycle,
        "How many credits a license wants, of which category, is the state's own list.",
    ),
    "firm": Table("a firm paper", FirmPaperForm, FirmPaperCorrection, FirmPaperEntry),
}


def _table(name: str, *, of_people: bool = False) -> Table:
    table = TABLES.get(name)
    if table is None or (of_people and table.add is None):
        raise Http404("No such table.")
    return table


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int, table: str) -> HttpResponse:
    """Enter training, credits or a cycle of a person."""
    asking = person_of(request)
    known = _table(table, of_people=True)
    person = person_for(asking, pk)
    words = FormPage(
        f"Enter {known.what} of {person.full_name}",
        "Enter it",
        person.get_absolute_url(),
        "It is entered.",
        source=known.source,
        two=True,
    )

    def save(typed: dict[str, Any]) -> None:
        if known.add:
            entry = known.entry(**typed)
            known.add(person_id=pk, entry=entry, by=asking, now=timezone.now())

    form = known.form(posted(request), initial={"state": person.branch.state})
    return one_form(request, form, words, save)


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, table: str, pk: int) -> HttpResponse:
    """Put a corrected entry in the place of a wrong one."""
    asking = person_of(request)
    known = _table(table)
    row = paper_for(asking, table, pk)
    words = FormPage(
        f"Correct {_named(row)}",
        "Save the correction",
        row.get_absolute_url(),
        "It is corrected.",
        source=STAYS,
        two=True,
    )

    def save(typed: dict[str, Any]) -> None:
        reason = typed.pop("reason")
        entry = known.entry(**typed)
        correct_paper(
            table=table, paper_id=pk, entry=entry, reason=reason, by=asking, now=timezone.now()
        )

    initial = {name: getattr(row, name) for name in known.form.base_fields}
    return one_form(request, known.correction(posted(request), initial=initial), words, save)


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def void(request: HttpRequest, table: str, pk: int) -> HttpResponse:
    """Say that an entry never counted."""
    asking = person_of(request)
    _table(table)
    row = paper_for(asking, table, pk)
    words = FormPage(
        f"Void {_named(row)}",
        "Void this entry",
        row.get_absolute_url(),
        "It counts no more.",
        source=STAYS,
        danger=True,
    )

    def save(typed: dict[str, Any]) -> None:
        void_paper(table=table, paper_id=pk, **typed, by=asking, now=timezone.now())

    return one_form(request, VoidForm(posted(request)), words, save)


def _named(row: Any) -> str:
    person = getattr(row, "person", None)
    return f"{row} of {person}" if person else str(row)


@requires(Permission.SEE_PEOPLE)
@require_GET
def firm(request: HttpRequest) -> HttpResponse:
    """List business licenses and insurance of the branches."""
    asking = person_of(request)
    held, past = firm_papers(asking, local_today(asking, timezone.now()))
    return render(request, "accounts/firm_papers.html", {"held": held, "past": past})


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def firm_add(request: HttpRequest) -> HttpResponse:
    """Enter a business license or insurance."""
    asking = person_of(request)
    words = FormPage(
        "Enter a firm paper",
        "Enter it",
        reverse("firm_papers"),
        "It is entered.",
        source="The register warns 90, 60, 30 and 7 days before its last day.",
        two=True,
    )

    def save(typed: dict[str, Any]) -> None:
        branch_id = typed.pop("branch")
        entry = FirmPaperEntry(**typed)
        add_firm_paper(branch_id=branch_id, entry=entry, by=asking, now=timezone.now())

    form = NewFirmPaperForm(
        posted(request), branches=branch_choices(asking), initial={"branch": asking.branch_id}
    )
    return one_form(request, form, words, save)


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def firm_renew(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter the paper that follows one."""
    asking = person_of(request)
    row = paper_for(asking, "firm", pk)
    words = FormPage(
        f"Renew {row}",
        "Enter the renewal",
        reverse("firm_papers"),
        "The renewal is entered.",
        source="The paper before keeps its days.",
        two=True,
    )

    def save(typed: dict[str, Any]) -> None:
        entry = FirmPaperEntry(**typed)
        renew_firm_paper(paper_id=pk, entry=entry, by=asking, now=timezone.now())

    initial = {name: getattr(row, name) for name in ("kind", "number", "issuer", "insured_dollars")}
    return one_form(request, FirmPaperForm(posted(request), initial=initial), words, save)
