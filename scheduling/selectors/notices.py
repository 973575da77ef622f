"""The customer's notice of one visit, for those who may see the visit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from django.http import Http404

from accounts.permissions import Permission, allows
from accounts.rules.day_words import short_day
from scheduling.models import RenewalZone, Visit
from sites.selectors.exclusion import customer_tasks_of
from treatments.reports.notice_words import Notice, NotTreated, ToDo
from treatments.selectors.notices import notice_of_visit
from treatments.selectors.records import zones_of_visit

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import ExclusionTask


def notice_for(person: Person, pk: int, *, demo: bool) -> Notice:
    """Gather the notice of a visit; a technician sees those of own visits only."""
    visits = Visit.objects.all()
    if not allows(person, Permission.SEE_CUSTOMERS):
        visits = visits.filter(technician=person)
    visit = visits.filter(pk=pk, applications__isnull=False).first()
    if visit is None:
        raise Http404("No visit with a record by this number.")
    return notice_of(visit, demo=demo)


def notice_of(visit: Visit, *, demo: bool) -> Notice:
    """Gather the notice of a visit with what was due and is not in its records."""
    left_out = _left_out(visit)
    notice = notice_of_visit(visit_ref=str(visit.ref), demo=demo, not_treated=left_out)
    return replace(notice, to_do=_to_do(visit.property_id))


def _to_do(property_id: int) -> tuple[ToDo, ...]:
    """The tasks of the customer that are open, with advice and what must stay open."""
    return tuple(
        ToDo(
            _told(str(one), one.words, one.advice, one.stays_open, _asked(one)),
            short_day(one.due_on, True),
        )
        for one in customer_tasks_of(property_id)
    )


def _asked(task: ExclusionTask) -> str:
    return f"You were {task.asked}" if task.asks.all() else ""


def _told(*parts: str) -> str:
    return " ".join(f"{part.rstrip('.')}." for part in parts if part)


def _left_out(visit: Visit) -> tuple[NotTreated, ...]:
    """Zones that the visit's renewal still waits for; the why is what the technician wrote."""
    waiting = RenewalZone.objects.filter(renewal=visit.renewal_id, zone__retired_on__isnull=True)
    rows = waiting.exclude(zone__in=zones_of_visit(str(visit.ref))).order_by("zone_id")
    why = visit.ending_note or "it stays due and is treated on another visit"
    names = dict.fromkeys(rows.values_list("zone__name", flat=True))
    return tuple(NotTreated(name, why) for name in names)
