"""A pest is identified at a stop or of a finding; what was identified, and what follows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.identification_pages import identified_page
from scheduling.selectors.inspections import finding_page
from scheduling.selectors.today import own_visit
from scheduling.services.identifying import identify_finding, identify_on_visit
from scheduling.services.inspecting import round_of_identification
from scheduling.views.inspections import today_of
from sites.rules.identification.entries import NewIdentification
from sites.services.photos import Uploaded
from sites.views.identify import Where, recorded, shown_key

if TYPE_CHECKING:
    from scheduling.models import Visit
    from sites.models import Finding, Identification


def _at(visit: Visit) -> Where:
    return Where(
        back_url=reverse("stop", args=[visit.pk]),
        back=visit.property.customer.name,
        key_url=reverse("stop_identify", args=[visit.pk]),
        record_url=reverse("stop_identify_record", args=[visit.pk]),
        place=str(visit.property),
    )


@requires(Permission.WORK_STOPS)
@require_GET
def key(request: HttpRequest, pk: int) -> HttpResponse:
    """The key at a stop."""
    return shown_key(request, _at(own_visit(person_of(request), pk)))


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was identified at a stop."""
    person = person_of(request)
    visit = own_visit(person, pk)

    def keep(new: NewIdentification, photos: Sequence[Uploaded]) -> Identification:
        return identify_on_visit(
            visit_id=pk, identification=new, photos=photos, by=person, now=timezone.now()
        )

    return recorded(request, _at(visit), visit.property, keep, visit_ref=str(visit.ref))


def _of(finding: Finding) -> Where:
    return Where(
        back_url=finding.get_absolute_url(),
        back="Finding",
        key_url=reverse("finding_identify", args=[finding.pk]),
        record_url=reverse("finding_identify_record", args=[finding.pk]),
        place=str(finding),
        then_url=finding.get_absolute_url(),
    )


@requires(Permission.INSPECT)
@require_GET
def key_of_finding(request: HttpRequest, pk: int) -> HttpResponse:
    """The key for what was found."""
    page = finding_page(person_of(request), pk, today_of(request))
    return shown_key(request, _of(page.finding))


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def record_of_finding(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what a finding was identified as."""
    person, today = person_of(request), today_of(request)
    found = finding_page(person, pk, today).finding

    def keep(new: NewIdentification, photos: Sequence[Uploaded]) -> Identification:
        now = timezone.now()
        return identify_finding(
            finding_id=pk, identification=new, photos=photos, by=person, now=now, today=today
        )

    visit_ref = found.inspection.visit_ref
    return recorded(request, _of(found), found.inspection.property, keep, visit_ref=visit_ref)


@requires(Permission.SEE_LABELS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One identification with its evidence and what can be done about it."""
    around = identified_page(person_of(request), pk, today_of(request))
    shown = {"around": around, "page": around.page, "row": around.page.row}
    return render(request, "scheduling/identification.html", shown)


@requires(Permission.INSPECT)
@require_POST
def to_finding(request: HttpRequest, pk: int) -> HttpResponse:
    """Go on from an identification to a finding in one's round, which is begun if none is."""
    made = round_of_identification(
        identification_id=pk, by=person_of(request), now=timezone.now(), today=today_of(request)
    )
    return redirect(f"{reverse('finding_add', args=[made.pk])}?identified={pk}")
