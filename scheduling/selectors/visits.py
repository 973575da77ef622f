"""Visits as a person may see them, and the properties a technician is near to."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.db.models import Q
from django.http import Http404

from accounts.permissions import Permission, allows
from accounts.selectors.people import branches_for
from scheduling.models import Visit
from scheduling.models.visits import VisitQuerySet

if TYPE_CHECKING:
    from accounts.models import Person

REACH = timedelta(days=7)  # DEVELOPERS.md, "Who sees which record"


def visit_for(person: Person | None, pk: int) -> Visit:
    """One visit: the office sees those of its branches, a technician only their own; else Http404.

    `person` None is the system, which sees every visit.
    """
    rows = seen_by(person).select_related(
        "property__customer", "property__branch", "technician", "renewal"
    )
    visit = rows.filter(pk=pk).first()
    if visit is None:
        raise Http404("No such visit.")
    return visit


def seen_by(person: Person | None) -> VisitQuerySet:
    """The visits a person may see."""
    if person is None:
        return Visit.objects.all()
    mine = Q(technician_id=person.pk)
    if allows(person, Permission.BOOK_VISITS):
        mine |= Q(property__branch__in=branches_for(person))
    return Visit.objects.filter(mine)


def properties_within_reach(person: Person, today: date) -> frozenset[int]:
    """Keys of properties with a stop of this technician from 7 days back to 7 ahead."""
    rows = Visit.objects.not_canceled().filter(
        technician_id=person.pk, day__range=(today - REACH, today + REACH)
    )
    return frozenset(rows.values_list("property_id", flat=True))
