"""The sheet of a property's walls, a band along them, and the water near them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted, saved
from sites.forms.outlines import BandForm, OutlineForm, WaterFeatureForm
from sites.rules.entries import NewZone
from sites.rules.plan_outline import Outline
from sites.rules.plan_walls import outline_of, read_walls
from sites.selectors.outlines import outline_from, walls_of, water_for
from sites.selectors.plan_drawings import drawn_walls, outline_notes
from sites.selectors.properties import property_for
from sites.services.outlines import WATER_LENGTHS, add_band, add_water, remove_water, set_outline

BY_HAND = (
    "Run of the ticked walls times height up plus width out; corners as chosen. The zone keeps "
    "which form was used."
)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def walls(request: HttpRequest, pk: int) -> HttpResponse:
    """The walls in walking order: shown, drawn as typed, given more rows, or saved."""
    asking = person_of(request)
    place = property_for(asking, pk)
    known = walls_of(pk)
    form = OutlineForm(posted(request), walls=known)
    unit = known[0].length_unit if known else "ft"
    shown: dict[str, Any] = {"place": place, "form": form}
    shown |= _shown(outline_from(known), unit, place, range(len(known)))
    if request.method == "GET" or "more" in request.POST:
        return render(request, "sites/walls.html", shown)
    if "look" in request.POST:
        is_read = saved(form, lambda entered: shown.update(_typed(form, entered["unit"], place)))
        return render(request, "sites/walls.html", shown, status=200 if is_read else 422)

    def save(entered: dict[str, Any]) -> None:
        set_outline(property_id=pk, unit=entered["unit"], rows=form.typed(), by=asking)

    if not saved(form, save):
        return render(request, "sites/walls.html", shown, status=422)
    messages.success(request, "The walls are kept. Zones keep the size they were measured with.")
    return redirect(place)


def _typed(form: OutlineForm, unit: str, place: Any) -> dict[str, Any]:
    rows = form.typed()
    known = [one.row for one in rows if (one.name or one.length or one.heading).strip()]
    return _shown(outline_of(read_walls(rows, unit)), unit, place, known)


def _shown(outline: Outline, unit: str, place: Any, rows: Sequence[int]) -> dict[str, Any]:
    """The drawing, and what a script needs to drag it: form row, length and heading of a wall."""
    title = f"Walls of {place.street}"
    pairs = zip(rows, outline.walls, strict=True)
    return {
        "drawing": drawn_walls(outline, unit, title),
        "notes": outline_notes(outline, unit) if outline.walls else [],
        "grips": ";".join(f"{row},{wall.length_mm},{wall.heading}" for row, wall in pairs),
        "unit": unit,
        "closes": outline.walls and outline.closes,
    }


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def band(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a band zone of walls of the sheet."""
    asking = person_of(request)
    place = property_for(asking, pk)
    names = [one.name for one in walls_of(pk)]
    words = FormPage(
        f"A band along the walls of {place.street}",
        "Add the band",
        place.get_absolute_url(),
        "The band is added.",
        source=BY_HAND,
        two=True,
    )

    def save(entered: dict[str, Any]) -> None:
        chosen = entered.pop("walls")
        add_band(zone=NewZone(property_id=pk, wall_run="", **entered), walls=chosen, by=asking)

    return one_form(request, BandForm(posted(request), walls=names), words, save)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def water_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put water on the plan."""
    asking = person_of(request)
    place = property_for(asking, pk)
    names = [one.name for one in walls_of(pk)]
    words = FormPage(
        f"Water on the plan of {place.street}",
        "Put it on the plan",
        place.get_absolute_url(),
        "The water is on the plan.",
        source="In the unit of the walls. The distance that labels ask for is measured apart, "
        "under Measure water.",
        two=True,
    )

    def save(entered: dict[str, Any]) -> None:
        lengths = {field: entered[field] for field in WATER_LENGTHS}
        add_water(
            property_id=pk, name=entered["name"], wall=entered["wall"], lengths=lengths, by=asking
        )

    return one_form(request, WaterFeatureForm(posted(request), walls=names), words, save)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def water_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take water off the plan."""
    asking = person_of(request)
    water = water_for(asking, pk)
    words = FormPage(
        f"Take {water.name} off the plan",
        "Take it off",
        water.property.get_absolute_url(),
        f"{water.name} is off the plan.",
        source=f"{water.property}. The distance to water that was measured stays.",
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: remove_water(water_id=pk, by=asking),
    )
