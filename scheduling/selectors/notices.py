"""The customer's notice of one visit, for those who may see the visit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404

from accounts.permissions import Permission, allows
from scheduling.models import Visit
from treatments.reports.notice_words import Notice
from treatments.selectors.notices import notice_of_visit

if TYPE_CHECKING:
    from accounts.models import Person


def notice_for(person: Person, pk: int, *, demo: bool) -> Notice:
    """Gather the notice of a visit; a technician sees those of own visits only."""
    visits = Visit.objects.all()
    if not allows(person, Permission.SEE_CUSTOMERS):
        visits = visits.filter(technician=person)
    visit = visits.filter(pk=pk, applications__isnull=False).first()
    if visit is None:
        raise Http404("No visit with a record by this number.")
    return notice_of_visit(visit_ref=str(visit.ref), demo=demo)
