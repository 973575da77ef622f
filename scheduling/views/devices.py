"""The office's pages of devices: list, add, place, remove, history, trend, labels, thresholds."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.pages import local_day
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.devices import (
    DevicesForm,
    RemovalForm,
    SpotForm,
    ThresholdForm,
    TrendForm,
)
from scheduling.reports.device_labels import draw_device_labels
from scheduling.selectors.device_pages import (
    device_choices,
    devices_page,
    labels_of,
    trend_page,
)
from scheduling.selectors.device_rounds import pest_choices
from scheduling.views.desk_answers import pdf_answer
from sites.rules.devices.entries import NewDevices, Spot
from sites.rules.devices.numbers import device_code
from sites.rules.devices.thresholds import Threshold
from sites.selectors.devices import device_for, history_of_device, plan_words, threshold_for
from sites.selectors.identifications import zone_choices
from sites.selectors.properties import property_for
from sites.services.devices import (
    add_devices,
    edit_device,
    remove_device,
    remove_threshold,
    set_threshold,
)


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def index(request: HttpRequest, pk: int) -> HttpResponse:
    """The devices of a property."""
    page = devices_page(person_of(request), pk)
    return render(request, "scheduling/devices.html", {"page": page, "place": page.place})


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One device with its history."""
    device = device_for(person_of(request), pk)
    context = {
        "device": device,
        "place": device.property,
        "removal": getattr(device, "removal", None),
        "code": device_code(device.property_id, device.number),
        "plan": plan_words(device),
        "history": history_of_device(device),
    }
    return render(request, "scheduling/device.html", context)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Place several devices at once."""
    asking = person_of(request)
    place = property_for(asking, pk)
    today = local_day(place.branch.time_zone, timezone.now())
    form = DevicesForm(posted(request), zones=zone_choices(pk), initial={"placed_on": today})
    words = FormPage(
        f"Add devices at {place.street}", "Add the devices", _list(pk), "The devices are added."
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: add_devices(devices=_new(pk, entered), by=asking, today=today),
    )


def _list(pk: int) -> str:
    return reverse("property_devices", args=[pk])


def _new(pk: int, entered: dict[str, Any]) -> NewDevices:
    own = {name: entered[name] for name in ("numbers", "kind", "placed_on")}
    return NewDevices(property_id=pk, spot=_spot(entered), **own)


def _spot(entered: dict[str, Any]) -> Spot:
    named = ("place", "wall", "offset_mm", "x_mm", "y_mm", "turn", "holds")
    typed: dict[str, Any] = {name: entered.get(name) for name in named}
    return Spot(zone_id=entered["zone"], **typed)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change where a device is."""
    asking = person_of(request)
    device = device_for(asking, pk)
    known = {name: getattr(device, name) for name in SpotForm.base_fields if name != "zone"}
    form = SpotForm(
        posted(request),
        zones=zone_choices(device.property_id),
        initial=known | {"zone": device.zone_id},
    )
    back = device.get_absolute_url()
    words = FormPage(f"Place of {device}", "Save the place", back, "The place is changed.")
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_device(device_id=pk, spot=_spot(entered), by=asking),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a device away."""
    asking, now = person_of(request), timezone.now()
    device = device_for(asking, pk)
    today = local_day(device.property.branch.time_zone, now)
    words = FormPage(
        f"Remove {device}",
        "Remove the device",
        _list(device.property_id),
        f"{device} is removed. Its number is not used again.",
        source=f"{device.get_kind_display()}, {device.place}, at {device.property}.",
        danger=True,
    )
    return one_form(
        request,
        RemovalForm(posted(request), initial={"removed_on": today}),
        words,
        lambda entered: remove_device(device_id=pk, **entered, by=asking, now=now, today=today),
    )


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def labels(request: HttpRequest, pk: int) -> HttpResponse:
    """The labels of the devices in place, to print and cut."""
    rows = labels_of(property_for(person_of(request), pk))
    if not rows:
        raise Refused("no_devices", "No device is in place here. Add the devices first.")
    return pdf_answer(draw_device_labels(rows, demo=settings.DEMO), f"device-labels-{pk}.pdf")


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def trends(request: HttpRequest, pk: int) -> HttpResponse:
    """What the rounds of two years add up to."""
    place = property_for(person_of(request), pk)
    form = TrendForm(request.GET, devices=device_choices(pk), pests=pest_choices())
    form.is_valid()
    page = trend_page(place, form.cleaned_data, timezone.now())
    context = {"page": page, "place": place, "form": form}
    return render(request, "scheduling/device_trends.html", context)


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def threshold(request: HttpRequest, pk: int) -> HttpResponse:
    """Set from when a device of a kind is over."""
    asking = person_of(request)
    place = property_for(asking, pk)
    words = FormPage(
        f"Threshold at {place.street}",
        "Set the threshold",
        _list(pk),
        "The threshold is set. It counts from the next check on.",
        source="What was set before for the same kind and pest is replaced.",
    )
    return one_form(
        request,
        ThresholdForm(posted(request), pests=pest_choices()),
        words,
        lambda entered: set_threshold(property_id=pk, row=_threshold(entered), by=asking),
    )


def _threshold(entered: dict[str, Any]) -> Threshold:
    return Threshold(entered["kind"], entered["pest"], entered["count_from"], entered["eaten_from"])


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def threshold_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Go back to the house rule."""
    asking = person_of(request)
    row = threshold_for(asking, pk)
    words = FormPage(
        f"Threshold of {str(row).lower()}",
        "Take it away",
        _list(row.property_id),
        "The house rule counts again.",
        source=str(row.property),
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: remove_threshold(threshold_id=pk, by=asking),
    )
