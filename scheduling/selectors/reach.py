"""Which properties somebody may reach: the office its branches', a technician those of near stops.

A technician reaches a property from seven days before a stop of theirs to seven after it (house
rule), and sees what was found there.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, allows
from scheduling.models import Visit
from scheduling.models.visits import OPEN_STATES
from sites.selectors.inspections import places_among
from sites.selectors.properties import properties_for

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from accounts.models import Person
    from sites.models import Property

NEAR = timedelta(days=7)


def reachable(person: Person, today: date) -> QuerySet[Property]:
    """The properties whose inspections the person may see and add to."""
    if allows(person, Permission.SEE_CUSTOMERS):
        return properties_for(person).select_related("branch", "customer")
    if not allows(person, Permission.WORK_STOPS):
        return places_among(())
    near = Visit.objects.not_canceled().filter(
        technician=person, day__range=(today - NEAR, today + NEAR)
    )
    return places_among(near.values("property_id"))


def place_in_reach(person: Person, pk: int, today: date) -> Property:
    """One property within reach, else Http404."""
    return get_object_or_404(reachable(person, today), pk=pk)


def own_open_visit(person: Person, property_id: int, today: date) -> Visit | None:
    """The person's stop of today at a property, while it is open."""
    visits = Visit.objects.filter(technician=person, property_id=property_id, day=today)
    return visits.filter(state__in=OPEN_STATES).order_by("pk").first()
