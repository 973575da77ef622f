"""A finding: adding it, what its gap lets in, and one step to a task, a zone or its end."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved
from scheduling.forms.inspections import CloseFindingForm, FindingForm, TaskForm
from scheduling.rules.exclusion import usual_due
from scheduling.selectors.inspections import finding_page, round_page
from scheduling.selectors.reach import reachable
from scheduling.views.inspections import today_of
from sites.forms import ZoneForm
from sites.rules.checkpoints import BY_CODE
from sites.rules.entries import NewZone
from sites.rules.exclusion import FOAM_NOTE, NewTask
from sites.rules.findings import NewFinding
from sites.rules.photo_files import SEALED_WORDS
from sites.rules.sealing import measures_for
from sites.selectors.pests import pests
from sites.services.exclusion import add_task, zone_from_finding
from sites.services.inspections import add_finding, close_finding

NAMED = (
    "client_ref", "checkpoint", "kind", "severity", "where", "condition", "gap", "gap_unit",
    "gap_shape", "opening", "note",
)  # fmt: skip


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a finding to a round; the checkpoint comes from the link that was tapped."""
    page = round_page(person_of(request), pk, today_of(request))
    known = request.GET.get("checkpoint", "")
    form = FindingForm(
        posted(request),
        request.FILES or None,
        pests=[(str(one.pk), one.common_name) for one in pests()],
        initial={"checkpoint": known if known in BY_CODE else ""},
    )
    words = FormPage(
        "Add a finding",
        "Keep this finding",
        reverse("inspection_round", args=[pk]),
        source=BY_CODE[known].look_for if known in BY_CODE else str(page.place),
        two=True,
    )
    if form.is_bound and saved(form, lambda entered: _keep(request, pk, entered)):
        return redirect("inspection_round", pk)
    return form_page(request, form, words)


def _keep(request: HttpRequest, pk: int, entered: dict[str, Any]) -> None:
    by = person_of(request)
    typed = {name: entered[name] for name in NAMED}
    pest = int(entered["pest"]) if entered["pest"] else None
    made = add_finding(
        within=reachable(by, today_of(request)),
        new=NewFinding(inspection_id=pk, pest_id=pest, **typed),
        photos=entered["photos"],
        by=by,
        now=timezone.now(),
    )
    messages.success(request, f"Kept: {made}.")
    if any(one.is_sealed for one in made.photos.all()):
        messages.warning(request, SEALED_WORDS)


@requires(Permission.INSPECT)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One finding with what its gap lets in, and the steps from it."""
    page = finding_page(person_of(request), pk, today_of(request))
    place = page.finding.inspection.property
    return render(request, "scheduling/finding.html", {"page": page, "place": place})


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def task(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a task to a finding."""
    by, today = person_of(request), today_of(request)
    page = finding_page(by, pk, today)
    offered = measures_for(page.finding.opening)
    form = TaskForm(posted(request), measures=offered, due=usual_due(today))
    words = FormPage(
        f"A task for: {page.finding}",
        "Add the task",
        page.finding.get_absolute_url(),
        "The task is added. One of the customer stands on the notice and is chased.",
        source=page.stays_open or FOAM_NOTE,
    )

    def save(entered: dict[str, Any]) -> None:
        new = NewTask(finding_id=pk, **entered)
        add_task(within=reachable(by, today), new=new, by=by, today=today)

    return one_form(request, form, words, save)


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def zone(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a treatable zone of what was found."""
    by, today = person_of(request), today_of(request)
    page = finding_page(by, pk, today)
    found = page.finding
    point = BY_CODE[found.checkpoint]
    known = {
        "name": f"{point.name}{f', {found.spot}' if found.spot else ''}"[:80],
        "place": point.place,
        "geometry": "count",
        "wall_run": "1",
        "exposure": "shaded",
        "surface": "painted",
    }
    words = FormPage(
        f"A zone from: {found}",
        "Add the zone",
        found.get_absolute_url(),
        "The zone is added.",
        source="Name and place come from the finding. Measure it here, or count it as one place.",
        two=True,
    )

    def save(entered: dict[str, Any]) -> None:
        new = NewZone(property_id=found.inspection.property_id, **entered)
        zone_from_finding(within=reachable(by, today), finding_id=pk, zone=new, by=by)

    return one_form(request, ZoneForm(posted(request), initial=known), words, save)


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what became of a finding."""
    by, today = person_of(request), today_of(request)
    found = finding_page(by, pk, today).finding
    words = FormPage(
        f"Close: {found}", "Close the finding", found.get_absolute_url(), "The finding is closed."
    )
    return one_form(
        request,
        CloseFindingForm(posted(request)),
        words,
        lambda entered: close_finding(
            within=reachable(by, today), finding_id=pk, **entered, by=by, now=timezone.now()
        ),
    )
