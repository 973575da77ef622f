"""Incidents: the list with its clocks, one with its history, reporting, notice, closing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted, saved
from sites.selectors.properties import property_for
from treatments.forms.incidents import EntryForm, IncidentForm, LocalNow, NoticeForm
from treatments.selectors.incident_page import (
    incident_page,
    people_choices,
    product_choices,
    record_choices,
    vehicle_choices,
)
from treatments.selectors.incidents import incident_for, incidents_page
from treatments.services.incidents import (
    add_to_incident,
    close_incident,
    give_notice,
    reopen_incident,
    report_incident,
)

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property
    from treatments.models import Incident


@requires(Permission.SEE_INCIDENTS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List incidents, the newest first, each with its clock."""
    rows, page = incidents_page(person_of(request), timezone.now(), request.GET.get("page"))
    late = sum(row.reading.is_late and not row.is_closed for row in rows)
    shown = {"rows": rows, "page": page, "late": late, "open": sum(not r.is_closed for r in rows)}
    return render(request, "treatments/incidents.html", shown)


@requires(Permission.SEE_INCIDENTS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one incident with its clock and every later entry."""
    page = incident_page(person_of(request), pk, timezone.now())
    return render(request, "treatments/incident.html", {"page": page})


@requires(Permission.REPORT_INCIDENTS)
@require_http_methods(["GET", "POST"])
def report(request: HttpRequest) -> HttpResponse:
    """Report an incident at a property, at a vehicle or on the road; the safety card first."""
    person, now = person_of(request), timezone.now()
    place = _place(request, person)
    form = incident_form(request, person, now, place)
    kept: list[Incident] = []

    def save(_: dict[str, Any]) -> None:
        new = form.reported(property_id=place.pk if place else None)
        kept.append(report_incident(incident=new, by=person, now=now))

    if form.is_bound and saved(form, save):
        return redirect(kept[0])
    status = 422 if form.is_bound else 200
    shown = {"form": form, "place": place}
    return render(request, "treatments/incident_report.html", shown, status=status)


def _place(request: HttpRequest, person: Person) -> Property | None:
    asked = request.GET.get("property", "")
    if not (asked.isascii() and asked.isdigit() and len(asked) < 19):
        return None
    return property_for(person, int(asked))


def incident_form(
    request: HttpRequest, person: Person, now: datetime, place: Property | None
) -> IncidentForm:
    """The form of a report, with what may be chosen."""
    clock: LocalNow = (now, ZoneInfo((place or person).branch.time_zone))
    rows: dict[str, Any] = {
        "vehicle": vehicle_choices(person),
        "product": product_choices(local_today(person, now)),
        "records": record_choices(place.pk) if place else [],
    }
    return IncidentForm(posted(request), clock=clock, rows=rows)


@requires(Permission.REPORT_INCIDENTS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add what became known later."""
    words = ("Add to this incident", "Add it", "It is added; what stood before stays.")
    return _entry(request, pk, words, add_to_incident)


@requires(Permission.EDIT_INCIDENTS)
@require_http_methods(["GET", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an incident with what came of it."""
    words = ("Close this incident", "Close it", "Closed. Its records are held no longer.")
    return _entry(request, pk, words, close_incident)


@requires(Permission.EDIT_INCIDENTS)
@require_http_methods(["GET", "POST"])
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a closed incident again."""
    words = ("Open this incident again", "Open it again", "Open again. Its records are held.")
    return _entry(request, pk, words, reopen_incident)


def _entry(
    request: HttpRequest, pk: int, words: tuple[str, str, str], keep: Callable[..., object]
) -> HttpResponse:
    person = person_of(request)
    incident = incident_for(person, pk)
    heading, act, said = words
    page = FormPage(heading, act, reverse("incident", args=[pk]), said, source=f"{incident}.")
    form = EntryForm(posted(request))

    def save(entered: dict[str, Any]) -> None:
        keep(
            incident_id=pk,
            client_ref=entered["client_ref"] or form["client_ref"].initial,
            words=entered["words"],
            by=person,
            now=timezone.now(),
        )

    return one_form(request, form, page, save)


@requires(Permission.EDIT_INCIDENTS)
@require_http_methods(["GET", "POST"])
def notice(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that an agency was told."""
    person, now = person_of(request), timezone.now()
    incident = incident_for(person, pk)
    clock = (now, ZoneInfo(incident.branch.time_zone))
    form = NoticeForm(
        posted(request),
        clock=clock,
        rows={"given_by": people_choices(person)},
        initial={"given_by": person.pk},
    )
    page = FormPage(
        "The agency was told",
        "Keep the notice",
        reverse("incident", args=[pk]),
        "The notice is kept.",
        source=f"{incident}. {incident.notice_sentence}",
        two=True,
    )

    def save(_: dict[str, Any]) -> None:
        give_notice(incident_id=pk, notice=form.told(), by=person, now=now)

    return one_form(request, form, page, save)
