"""What to watch for at a property, what its customer asked for, its units."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted
from sites.forms import CautionForm, PreferenceForm, UnitForm
from sites.selectors.choices import contact_choices, unit_choices
from sites.selectors.properties import caution_for, preference_for, property_for, unit_for
from sites.services.wishes import (
    add_caution,
    add_preference,
    add_unit,
    edit_unit,
    remove_caution,
    remove_preference,
)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def caution_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Note something to watch for."""
    asking = person_of(request)
    place = property_for(asking, pk)
    words = FormPage(
        f"Watch at {place.street}", "Add it", place.get_absolute_url(), "The watch item is added."
    )
    return one_form(
        request,
        CautionForm(posted(request)),
        words,
        lambda entered: add_caution(property_id=pk, **entered, by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def caution_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take away something that need not be watched any more."""
    asking = person_of(request)
    caution = caution_for(asking, pk)
    words = FormPage(
        f"Stop watching: {caution}",
        "Remove it",
        caution.property.get_absolute_url(),
        "The watch item is removed.",
        source=f"{caution.property}. {caution.note}".strip(),
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: remove_caution(caution_id=pk, by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def preference_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what the customer asked for or refused."""
    asking = person_of(request)
    place = property_for(asking, pk)
    form = PreferenceForm(
        posted(request),
        units=unit_choices(pk),
        initial={"is_hard": True, "said_on": local_today(asking, timezone.now())},
    )
    words = FormPage(
        f"What the customer wants at {place.street}",
        "Add it",
        place.get_absolute_url(),
        "The preference is added.",
    )
    return one_form(request, form, words, lambda entered: _prefer(pk, entered, asking))


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def preference_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take away what the customer does not ask for any more."""
    asking = person_of(request)
    wish = preference_for(asking, pk)
    words = FormPage(
        f"No longer asked for: {wish.get_kind_display()}",
        "Remove it",
        wish.property.get_absolute_url(),
        "The preference is removed.",
        source=f"Said by {wish.said_by} at {wish.property}.",
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: remove_preference(preference_id=pk, by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def unit_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter an apartment or suite."""
    asking = person_of(request)
    place = property_for(asking, pk)
    form = UnitForm(
        posted(request),
        contacts=contact_choices(place.customer_id),
        initial={"is_occupied": True},
    )
    words = FormPage(
        f"Add a unit of {place.street}", "Add the unit", place.get_absolute_url(), "Unit added."
    )
    return one_form(
        request, form, words, lambda entered: add_unit(property_id=pk, **_unit(entered), by=asking)
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def unit_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a unit."""
    asking = person_of(request)
    unit = unit_for(asking, pk)
    known = {name: getattr(unit, name) for name in ("number", "floor", "is_occupied")}
    form = UnitForm(
        posted(request),
        contacts=contact_choices(unit.property.customer_id),
        initial=known | {"occupant": unit.occupant_id},
    )
    words = FormPage(
        f"Change {unit} of {unit.property.street}",
        "Save the unit",
        unit.property.get_absolute_url(),
        "The unit is changed.",
    )
    return one_form(
        request, form, words, lambda entered: edit_unit(unit_id=pk, **_unit(entered), by=asking)
    )


def _prefer(property_id: int, entered: dict[str, Any], asking: Any) -> object:
    rest = {name: value for name, value in entered.items() if name != "unit"}
    return add_preference(property_id=property_id, unit_id=entered["unit"], **rest, by=asking)


def _unit(entered: dict[str, Any]) -> dict[str, Any]:
    rest = {name: value for name, value in entered.items() if name != "occupant"}
    return {**rest, "occupant_id": entered["occupant"]}
