"""The key itself: every animal and question, what the firm adds and changes."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from sites.forms import TaxonForm, TraitForm
from sites.rules.identification.entries import NewTaxon, NewTrait
from sites.selectors.identification_key import (
    answered_traits,
    taxa,
    taxon_for,
    taxon_page,
    trait_for,
    traits,
    typed_taxon,
    values_of,
)
from sites.services.identification_key import add_taxon, add_trait, edit_taxon, edit_trait

OWN = "What you enter is marked as the firm's own, with where it is from."


@requires(Permission.SEE_LABELS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Every animal and every question of the key."""
    return render(request, "sites/identification_key.html", {"taxa": taxa(), "traits": traits()})


@requires(Permission.SEE_LABELS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One animal with every value and where it is from."""
    return render(request, "sites/taxon.html", {"page": taxon_page(pk)})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def taxon_add(request: HttpRequest) -> HttpResponse:
    """Add an animal of the firm's own."""
    form = TaxonForm(posted(request), traits=answered_traits())
    back = reverse("identification_key")
    words = FormPage("Add to the key", "Add it", back, "It is in the key.", OWN, two=True)
    by = person_of(request)
    return one_form(request, form, words, lambda _: add_taxon(taxon=_taxon(form), by=by))


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def taxon_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an animal of the key."""
    taxon = taxon_for(pk)
    form = TaxonForm(posted(request), traits=answered_traits(), initial=typed_taxon(taxon))
    back = taxon.get_absolute_url()
    words = FormPage(f"Change {taxon}", "Save it", back, "It is changed.", OWN, two=True)
    by = person_of(request)
    return one_form(
        request, form, words, lambda _: edit_taxon(taxon_id=pk, taxon=_taxon(form), by=by)
    )


def _taxon(form: TaxonForm) -> NewTaxon:
    return NewTaxon(**form.entered())


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def trait_add(request: HttpRequest) -> HttpResponse:
    """Add a question of the firm's own."""
    words = FormPage(
        "Add a question", "Add it", reverse("identification_key"), "It is in the key.", OWN
    )
    by = person_of(request)

    def save(entered: dict[str, Any]) -> object:
        return add_trait(trait=NewTrait(**entered), by=by)

    return one_form(request, TraitForm(posted(request)), words, save)


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def trait_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the words of a question, add answers to it."""
    trait = trait_for(pk)
    there = ", ".join(one.words for one in values_of(trait))
    known = {name: getattr(trait, name) for name in ("name", "question", "help_text")}
    words = FormPage(
        f"Change {trait}",
        "Save it",
        reverse("identification_key"),
        "The question is changed.",
        f"Answers now: {there}.",
    )
    by = person_of(request)

    def save(entered: dict[str, Any]) -> object:
        return edit_trait(trait_id=pk, trait=NewTrait(**entered), by=by)

    return one_form(request, TraitForm(posted(request), initial=known), words, save)
