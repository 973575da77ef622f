"""One vehicle: what is aboard, who drives it, its weekly check."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted, saved
from treatments.forms.stock import TakeForm
from treatments.forms.vehicles import EditPlaceForm, VehicleCheckForm, found_aboard
from treatments.selectors.stock import place_for, vehicle_of
from treatments.selectors.stock_choices import driver_choices, lots_to_take
from treatments.selectors.vehicles import vehicle_page, vehicle_to_check
from treatments.services.stock_places import edit_place
from treatments.services.taking import take_aboard
from treatments.services.vehicles import check_vehicle

ABOARD = "From a store of your branch; what is wrong is taken back by a manager."


@requires(Permission.SEE_VEHICLES)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One vehicle with its last checks and what is aboard."""
    person = person_of(request)
    page = vehicle_page(person, pk, local_today(person, timezone.now()))
    return render(request, "treatments/vehicle.html", {"page": page})


@requires(Permission.CHECK_VEHICLES)
@require_http_methods(["GET", "POST"])
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what was found aboard."""
    person = person_of(request)
    vehicle = vehicle_to_check(person, pk)
    form = VehicleCheckForm(posted(request))
    if form.is_bound and saved(
        form,
        lambda entered: check_vehicle(
            vehicle_id=pk, found=found_aboard(entered), by=person, now=timezone.now()
        ),
    ):
        return redirect("vehicle", pk)
    status = 422 if form.is_bound else 200
    shown = {"form": form, "vehicle": vehicle}
    return render(request, "treatments/vehicle_check.html", shown, status=status)


@requires(Permission.LOAD_VEHICLE)
@require_http_methods(["GET", "POST"])
def take(request: HttpRequest) -> HttpResponse:
    """Book what the technician loads from the store onto the own vehicle."""
    person, now = person_of(request), timezone.now()
    vehicle = vehicle_of(person.pk)
    lots = [("", "Choose a lot"), *lots_to_take(person, local_today(person, now))]
    form = TakeForm(posted(request), rows={"lot": lots})
    words = FormPage(
        f"Take onto {vehicle or 'your vehicle'}",
        "Take it aboard",
        reverse("vehicle", args=[vehicle.pk]) if vehicle else reverse("own_load_list"),
        "It is aboard.",
        source=ABOARD if vehicle else "No vehicle is kept for you yet: a manager adds it.",
    )

    def save(entered: dict[str, Any]) -> None:
        lot_id, store_id = form.taken()
        take_aboard(
            lot_id=lot_id,
            store_id=store_id,
            amount=entered["amount"],
            unit=entered["unit"],
            client_ref=entered["client_ref"],
            by=person,
            now=now,
        )

    return one_form(request, form, words, save)


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a place is called and who drives it."""
    person = person_of(request)
    place = place_for(person, pk)
    known = {"name": place.name, "plate": place.plate, "technician": place.technician_id}
    form = EditPlaceForm(
        posted(request), rows={"technician": driver_choices(person, place)}, initial=known
    )
    words = FormPage(f"Edit {place}", "Save the place", reverse("stock"), "The place is saved.")
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_place(
            place_id=pk,
            name=entered["name"],
            plate=entered["plate"],
            technician_id=entered["technician"],
            by=person,
            now=timezone.now(),
        ),
    )
