"""What keeps a record beyond its retention."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404

from treatments.models import IncidentHold, RetentionHold
from treatments.selectors.incidents import incident_for
from treatments.selectors.records import record_for

if TYPE_CHECKING:
    from accounts.models import Person


def holds_of(record_id: int) -> list[RetentionHold]:
    """Every hold of a record that the caller may show, those that stand first; one query."""
    rows = RetentionHold.objects.filter(record_id=record_id)
    rows = rows.select_related("created_by", "released_by", "incident")
    return sorted(rows.order_by("-pk"), key=lambda one: one.released_at is not None)


def hold_for(person: Person, pk: int) -> RetentionHold:
    """One hold of a record that the person may see; otherwise Http404."""
    hold = RetentionHold.objects.select_related("record").filter(pk=pk).first()
    if hold is None:
        raise Http404("No such hold.")
    record_for(person, hold.record_id)
    return hold


def incident_holds_of(incident_id: int) -> list[IncidentHold]:
    """Every hold of an incident the caller may show, those that stand first; one query."""
    rows = IncidentHold.objects.filter(incident_id=incident_id)
    rows = rows.select_related("created_by", "released_by").order_by("-pk")
    return sorted(rows, key=lambda one: one.released_at is not None)


def incident_hold_for(person: Person, pk: int) -> IncidentHold:
    """One hold of an incident that the person may see; otherwise Http404."""
    hold = IncidentHold.objects.select_related("incident").filter(pk=pk).first()
    if hold is None:
        raise Http404("No such hold.")
    incident_for(person, hold.incident_id)
    return hold
