"""A technician reports an incident from a stop: the safety card first."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import saved
from scheduling.selectors.today import own_visit
from treatments.services.incidents import report_incident
from treatments.views.incidents import incident_form


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def from_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """The safety card, then what happened at this stop."""
    person, now = person_of(request), timezone.now()
    visit = own_visit(person, pk)
    form = incident_form(request, person, now, visit.property)
    kept: list[Any] = []

    def save(_: dict[str, Any]) -> None:
        new = form.reported(property_id=visit.property_id, visit_ref=str(visit.ref))
        kept.append(report_incident(incident=new, by=person, now=now))

    if form.is_bound and saved(form, save):
        messages.success(request, "Reported. A manager sees it now; add what you learn later.")
        return redirect(kept[0])
    status = 422 if form.is_bound else 200
    shown = {"form": form, "visit": visit}
    return render(request, "scheduling/field/incident.html", shown, status=status)
