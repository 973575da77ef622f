"""A technician identifies a pest at a stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.today import own_visit
from scheduling.services.identifying import identify_on_visit
from sites.rules.identification.entries import NewIdentification
from sites.views.identify import Where, recorded, shown_key

if TYPE_CHECKING:
    from scheduling.models import Visit
    from sites.models import Identification


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

    def keep(new: NewIdentification) -> Identification:
        return identify_on_visit(visit_id=pk, identification=new, by=person, now=timezone.now())

    return recorded(request, _at(visit), visit.property, keep, visit_ref=str(visit.ref))
