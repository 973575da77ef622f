"""Booking a visit: for a renewal, or for a property without one."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.people import technicians_of
from scheduling.forms.office import BookingForm, posted
from scheduling.selectors.booking_pages import (
    BookingFor,
    booking_for_property,
    booking_for_renewal,
    ready_places,
)
from scheduling.services.booking import book_visit
from sites.rules.swarms import refer_swarm


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def for_renewal(request: HttpRequest, pk: int) -> HttpResponse:
    """Book the visit that renews what lapses."""
    return _book(request, booking_for_renewal(person_of(request), pk, timezone.now()))


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def for_property(request: HttpRequest, pk: int) -> HttpResponse:
    """Book a first service, a re-service, an inspection."""
    return _book(request, booking_for_property(person_of(request), pk, timezone.now()))


def _book(request: HttpRequest, booking: BookingFor) -> HttpResponse:
    form = _form(request, booking)
    if not form.is_bound or not form.is_valid():
        return _page(request, booking, form, status=422 if form.is_bound else 200)
    entered = booking.target | form.booking()
    try:
        visit = book_visit(**entered, by=person_of(request), now=timezone.now())
    except Refused as refused:
        return _page(request, booking, form, status=422, refused=refused)
    messages.success(
        request, f"Booked: {booking.place.street}, {visit.day:%a, %b} {visit.day.day}."
    )
    if refer := refer_swarm([visit.note]):
        messages.warning(request, refer)
    return redirect("visit", pk=visit.pk)


def _form(request: HttpRequest, booking: BookingFor) -> BookingForm:
    offered = [(one.pk, one.full_name) for one in technicians_of(booking.place.branch_id)]
    asked = {name: request.GET[name] for name in BookingForm.base_fields if name in request.GET}
    return BookingForm(
        posted(request),
        technicians=offered,
        with_kind=booking.row is None,
        initial=booking.proposed | asked,
    )


def _page(
    request: HttpRequest,
    booking: BookingFor,
    form: BookingForm,
    *,
    status: int,
    refused: Refused | None = None,
) -> HttpResponse:
    shown: dict[str, Any] = {"booking": booking, "form": form, "refused": refused}
    if refused:
        entered = {name: form[name].value() for name in form.fields}
        shown["places"] = [
            (place, urlencode(entered | changed)) for place, changed in ready_places(refused.facts)
        ]
    return render(request, "scheduling/book.html", shown, status=status)
