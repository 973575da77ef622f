"""Entering, changing and retiring a zone."""

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
from sites.forms import ZoneForm
from sites.rules.entries import NewZone
from sites.selectors.properties import property_for, treated_zone_for, zone_for, zone_measure
from sites.selectors.runs import runs_typed
from sites.services.zones import add_zone, edit_zone, retire_zone

AREA = "Band and surface: run times height up plus width out. Space: all three multiplied."


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a zone of a property."""
    asking = person_of(request)
    place = property_for(asking, pk)
    words = FormPage(
        f"Add a zone of {place.street}",
        "Add the zone",
        place.get_absolute_url(),
        "The zone is added.",
        source=AREA,
        two=True,
    )
    return one_form(
        request,
        ZoneForm(posted(request), initial={"exposure": "shaded", "surface": "painted"}),
        words,
        lambda entered: add_zone(zone=_zone(pk, entered), by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a zone."""
    asking = person_of(request)
    zone = treated_zone_for(asking, pk)
    known = {name: getattr(zone, name) for name in ZoneForm.base_fields if name != "runs"}
    known["runs"] = runs_typed(zone)
    words = FormPage(
        f"Change {zone.name}",
        "Save the zone",
        zone.property.get_absolute_url(),
        "The zone is changed.",
        source=f"Now {zone_measure(zone).sentence}. Records keep the size they were made with.",
        two=True,
    )
    return one_form(
        request,
        ZoneForm(posted(request), initial=known),
        words,
        lambda entered: edit_zone(zone_id=pk, zone=_zone(zone.property_id, entered), by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop treating a zone."""
    asking = person_of(request)
    zone = zone_for(asking, pk)
    words = FormPage(
        f"Retire {zone.name}",
        "Retire the zone",
        zone.property.get_absolute_url(),
        f"{zone.name} is retired.",
        source=f"{zone.property}. It is not treated or renewed any more; its records stay.",
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: retire_zone(zone_id=pk, today=local_today(asking, timezone.now()), by=asking),
    )


def _zone(property_id: int, entered: dict[str, Any]) -> NewZone:
    return NewZone(property_id=property_id, **entered)
