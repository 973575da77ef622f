"""Visits of a planned day whose technician's license is no longer in force that day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from django.db.models import prefetch_related_objects

from accounts.services.audit import open_item
from scheduling.rules.day_words import full_day
from scheduling.rules.visit_states import VisitState
from scheduling.services.booking_checks import license_fault
from scheduling.services.plan_report import Unlicensed

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Visit

REMEDY = "Renew the license and enter its new dates, or book the visit with somebody else."


def tell_unlicensed(people: Sequence[Person], visits: Iterable[Visit]) -> tuple[Unlicensed, ...]:
    """Open an item for each booked visit without a license of its state in force that day.

    It was in force when the visit was booked; a license can be changed or taken back since. The
    visit stays as planned: people decide. One query for the licenses of all.
    """
    prefetch_related_objects(people, "licenses")
    by_key = {person.pk: person for person in people}
    found = []
    for visit in visits:
        fault = license_fault(by_key[visit.technician_id], visit.property.state, visit.day)
        if fault and visit.state == VisitState.BOOKED:
            _tell(visit, fault)
            found.append(Unlicensed(visit, f"{fault} {REMEDY}"))
    return tuple(found)


def _tell(visit: Visit, fault: str) -> None:
    open_item(
        branch_id=visit.property.branch_id,
        code="visit_without_license",
        thing=visit,
        sentence=f"{visit.property}, visit on {full_day(visit.day)}: {fault} {REMEDY}",
    )
