"""One vehicle: what is aboard, who drives it, its weekly check."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted, saved
from treatments.forms.vehicles import EditPlaceForm, VehicleCheckForm, found_aboard
from treatments.selectors.stock import place_for
from treatments.selectors.stock_choices import driver_choices
from treatments.selectors.vehicles import vehicle_page, vehicle_to_check
from treatments.services.stock_places import edit_place
from treatments.services.vehicles import check_vehicle


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
