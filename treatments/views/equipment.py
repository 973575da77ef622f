"""Equipment and its calibration."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import branch_choices, local_today
from accounts.views.one_form import FormPage, one_form, posted
from sites.rules.units import SPRAY_UNITS, plain
from treatments.forms.equipment import CalibrationForm, EditEquipmentForm, EquipmentForm
from treatments.selectors.equipment import equipment_for, equipment_rows
from treatments.services.equipment import add_calibration, add_equipment, edit_equipment


@requires(Permission.SEE_STOCK)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Every piece of equipment with its latest measurement."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    rows = [(row, row.doubts(today)) for row in equipment_rows(person)]
    return render(request, "treatments/equipment.html", {"rows": rows})


@requires(Permission.SEE_STOCK)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One piece of equipment with every measurement."""
    person = person_of(request)
    row = equipment_for(person, pk)
    doubts = row.doubts(local_today(person, timezone.now()))
    return render(request, "treatments/equipment_one.html", {"row": row, "doubts": doubts})


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Add a piece of equipment."""
    person = person_of(request)
    system = person.branch.units
    form = EquipmentForm(posted(request), rows={"branch": branch_choices(person)}, system=system)
    back = reverse("equipment")
    words = FormPage("Add equipment", "Add the equipment", back, "It is added.", two=True)
    return one_form(
        request,
        form,
        words,
        lambda entered: add_equipment(branch_id=entered.pop("branch"), **entered, by=person),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change how a piece is called and used."""
    person = person_of(request)
    one = equipment_for(person, pk).equipment
    # in the unit it was entered in, so that a new name never changes the tank
    system = next(one_of for one_of, unit in SPRAY_UNITS.items() if unit == one.tank.unit)
    known = {name: getattr(one, name) for name in ("name", "nozzle", "pressure_psi")}
    known["tank"] = plain(one.tank.value)
    form = EditEquipmentForm(posted(request), initial=known, system=system)
    words = FormPage(
        f"Edit {one}",
        "Save the equipment",
        one.get_absolute_url(),
        "It is saved.",
        source="Measure again after a change of nozzle or pressure.",
        two=True,
    )
    return one_form(
        request, form, words, lambda entered: edit_equipment(equipment_id=pk, **entered, by=person)
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def calibrate(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a measurement."""
    person = person_of(request)
    one = equipment_for(person, pk).equipment
    today = local_today(person, timezone.now())
    known = {"measured_on": today, "nozzle": one.nozzle, "pressure_psi": one.pressure_psi}
    words = FormPage(
        f"Calibrate {one}",
        "Save the calibration",
        one.get_absolute_url(),
        "The calibration is saved.",
        source="Measure with water, at the nozzle, pressure and pace of the work.",
        two=True,
    )
    return one_form(
        request,
        CalibrationForm(posted(request), initial=known, system=one.branch.units),
        words,
        lambda entered: add_calibration(
            equipment_id=pk, **entered, by=person, today=today, system=one.branch.units
        ),
    )
