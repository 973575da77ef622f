"""Holding a record beyond its retention."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.day_words import short_day
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.incidents import HoldForm
from treatments.selectors.holds import hold_for, incident_hold_for
from treatments.selectors.incidents import incident_for
from treatments.selectors.records import record_for
from treatments.services.holds import (
    release_hold,
    release_incident_hold,
    set_hold,
    set_incident_hold,
)


@requires(Permission.HOLD_RECORDS)
@require_http_methods(["GET", "POST"])
def hold(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a hold on a record."""
    person = person_of(request)
    record = record_for(person, pk)
    page = FormPage(
        f"Hold record {pk}",
        "Hold it",
        reverse("record", args=[pk]),
        "Held: nothing of it is forgotten until the hold is released.",
        source=f"Kept until {short_day(record.retain_until, True)} in any case.",
    )
    return one_form(
        request,
        HoldForm(posted(request)),
        page,
        lambda entered: set_hold(
            record_id=pk, reason=entered["reason"], by=person, now=timezone.now()
        ),
    )


@requires(Permission.HOLD_RECORDS)
@require_http_methods(["GET", "POST"])
def release(request: HttpRequest, pk: int) -> HttpResponse:
    """Release a hold."""
    person = person_of(request)
    held = hold_for(person, pk)
    page = FormPage(
        f"Release the hold on record {held.record_id}",
        "Release it",
        reverse("record", args=[held.record_id]),
        "Released: the retention of the record counts again.",
        source=held.reason,
        danger=True,
    )
    return one_form(
        request,
        HoldForm(posted(request)),
        page,
        lambda entered: release_hold(
            hold_id=pk, reason=entered["reason"], by=person, now=timezone.now()
        ),
    )


@requires(Permission.HOLD_RECORDS)
@require_http_methods(["GET", "POST"])
def hold_incident(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a hold on an incident itself."""
    person = person_of(request)
    incident = incident_for(person, pk)
    page = FormPage(
        f"Hold incident {pk}",
        "Hold it",
        reverse("incident", args=[pk]),
        "Held: none of its words is forgotten until the hold is released.",
        source=f"{incident}.",
    )
    return one_form(
        request,
        HoldForm(posted(request)),
        page,
        lambda entered: set_incident_hold(
            incident_id=pk, reason=entered["reason"], by=person, now=timezone.now()
        ),
    )


@requires(Permission.HOLD_RECORDS)
@require_http_methods(["GET", "POST"])
def release_incident(request: HttpRequest, pk: int) -> HttpResponse:
    """Release the hold of an incident."""
    person = person_of(request)
    held = incident_hold_for(person, pk)
    page = FormPage(
        f"Release the hold on incident {held.incident_id}",
        "Release it",
        reverse("incident", args=[held.incident_id]),
        "Released: the term of the incident counts again.",
        source=held.reason,
        danger=True,
    )
    return one_form(
        request,
        HoldForm(posted(request)),
        page,
        lambda entered: release_incident_hold(
            hold_id=pk, reason=entered["reason"], by=person, now=timezone.now()
        ),
    )
