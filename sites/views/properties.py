"""Entering and changing a property and how one gets in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.customers import customer_for
from accounts.selectors.pages import branch_choices
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved
from sites.forms import AccessForm, PropertyForm, WaterForm
from sites.rules.entries import NewProperty
from sites.selectors.properties import access_of, property_for
from sites.services.properties import add_property, edit_property, set_access
from sites.services.water import measure_water

if TYPE_CHECKING:
    from sites.models import Property


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a service address of a customer."""
    asking = person_of(request)
    customer = customer_for(asking, pk)
    form = PropertyForm(
        posted(request),
        branches=branch_choices(asking),
        initial={"branch": customer.branch_id, "state": customer.branch.state},
    )
    made: list[Property] = []
    if form.is_bound and saved(
        form, lambda entered: made.append(add_property(place=_place(pk, entered), by=asking))
    ):
        messages.success(request, "The property is added. Add its zones next.")
        return redirect(made[0].get_absolute_url())
    words = FormPage(
        f"Add a property of {customer.name}",
        "Add the property",
        customer.get_absolute_url(),
        two=True,
    )
    return form_page(request, form, words)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a service address."""
    asking = person_of(request)
    place = property_for(asking, pk)
    known = {name: getattr(place, name) for name in PropertyForm.base_fields if name != "branch"}
    form = PropertyForm(
        posted(request),
        branches=branch_choices(asking),
        initial=known | {"branch": place.branch_id},
    )
    words = FormPage(
        f"Change {place.street}",
        "Save the property",
        place.get_absolute_url(),
        "The property is changed.",
        source="Records made here keep the address they were made with.",
        two=True,
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_property(
            property_id=pk, place=_place(place.customer_id, entered), by=asking
        ),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def access(request: HttpRequest, pk: int) -> HttpResponse:
    """Change gate code, lock box, key tag, parking, who to ask."""
    asking = person_of(request)
    place = property_for(asking, pk)
    held = access_of(pk)
    known = {name: getattr(held, name) for name in AccessForm.base_fields} if held else {}
    words = FormPage(
        f"Access to {place.street}",
        "Save the access notes",
        place.get_absolute_url(),
        "The access notes are saved.",
        source="A technician sees these on the day of a stop only, and only who goes there.",
        two=True,
    )
    return one_form(
        request,
        AccessForm(posted(request), initial=known),
        words,
        lambda entered: set_access(property_id=pk, **entered, by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def water(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter how far water is, as measured on the ground."""
    asking = person_of(request)
    place = property_for(asking, pk)
    today = timezone.now().astimezone(ZoneInfo(place.branch.time_zone)).date()
    known = {name: getattr(place, f"water_{name}") for name in WaterForm.base_fields}
    words = FormPage(
        f"Water near {place.street}",
        "Save the measurement",
        place.get_absolute_url(),
        "The measurement is saved.",
        source="Only what was measured on the ground counts for a label; a drawing does not.",
    )
    return one_form(
        request,
        WaterForm(posted(request), initial=known),
        words,
        lambda entered: measure_water(property_id=pk, **entered, by=asking, today=today),
    )


def _place(customer_id: int, entered: dict[str, Any]) -> NewProperty:
    rest = {name: value for name, value in entered.items() if name != "branch"}
    return NewProperty(branch_id=entered["branch"], customer_id=customer_id, **rest)
