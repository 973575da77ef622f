"""Which pest is it? The key by itself and at a property, and recording what was found."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import posted, saved
from sites.forms import IdentificationForm
from sites.rules.identification.entries import NewIdentification
from sites.rules.identification.pages import KeyPage, key_page
from sites.selectors.identification_key import whole_key
from sites.selectors.identifications import candidate_choices, zone_choices
from sites.selectors.properties import property_for
from sites.services.identifications import identify_at_property
from sites.services.photos import Uploaded

if TYPE_CHECKING:
    from sites.models import Identification, Property

Keep = Callable[[NewIdentification, Sequence[Uploaded]], "Identification"]


@dataclass(frozen=True)
class Where:
    """Where one identifies: the page one came from, and the addresses of key and record.

    `then_url` is where one goes once it is recorded; empty: to what was recorded.
    """

    back_url: str
    back: str
    key_url: str
    record_url: str = ""
    place: str = ""
    then_url: str = ""


def shown_key(request: HttpRequest, where: Where) -> HttpResponse:
    """The key with the answers that stand in the address."""
    page = key_page(whole_key(), request.GET.getlist("seen"))
    return render(request, "sites/identify.html", {"page": page, "where": where})


def recorded(
    request: HttpRequest, where: Where, place: Property, keep: Keep, visit_ref: str = ""
) -> HttpResponse:
    """The decision about what stands in the address: shown, checked, kept."""
    page = key_page(whole_key(), request.GET.getlist("seen"))
    form = _form(request, page, place)
    kept: list[Identification] = []

    def save(entered: dict[str, Any]) -> None:
        kept.append(keep(_new(page, entered, visit_ref), entered["photos"]))

    if form.is_bound and saved(form, save):
        messages.success(request, f"Recorded: {kept[0]}.")
        return redirect(where.then_url or kept[0].get_absolute_url())
    context = {"page": page, "where": where, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "sites/identify_record.html", context, status=status)


def _form(request: HttpRequest, page: KeyPage, place: Property) -> IdentificationForm:
    taxa = candidate_choices(page)
    asked = request.GET.get("taxon", "")
    first = asked if asked in dict(taxa) else ""
    zones = zone_choices(place.pk)
    return IdentificationForm(
        posted(request), request.FILES or None, taxa=taxa, zones=zones, initial={"taxon": first}
    )


def _new(page: KeyPage, entered: dict[str, Any], visit_ref: str) -> NewIdentification:
    facts = {name: value for name, value in entered.items() if name not in ("zone", "photos")}
    return NewIdentification(
        answers=page.answers, zone_id=entered["zone"], visit_ref=visit_ref, **facts
    )


@requires(Permission.SEE_LABELS)
@require_GET
def key(request: HttpRequest) -> HttpResponse:
    """The key without a place: somebody describes it on the telephone."""
    return shown_key(request, Where(reverse("pests"), "Pests", reverse("identify")))


def _at(place: Property) -> Where:
    return Where(
        back_url=place.get_absolute_url(),
        back=place.street,
        key_url=reverse("property_identify", args=[place.pk]),
        record_url=reverse("property_identify_record", args=[place.pk]),
        place=str(place),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_GET
def at_property(request: HttpRequest, pk: int) -> HttpResponse:
    """The key at a property."""
    return shown_key(request, _at(property_for(person_of(request), pk)))


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def record_at_property(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was identified at a property."""
    person = person_of(request)
    place = property_for(person, pk)

    def keep(new: NewIdentification, photos: Sequence[Uploaded]) -> Identification:
        return identify_at_property(
            property_id=pk, identification=new, photos=photos, by=person, now=timezone.now()
        )

    return recorded(request, _at(place), place, keep)
