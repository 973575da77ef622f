"""What the people of the firm know of the places: gates, dogs, wishes, apartments."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sites.rules.places import CautionKind, PreferenceKind
from sites.services.properties import set_access
from sites.services.wishes import add_caution, add_preference, add_unit

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Visit

CAUTIONS = (
    (CautionKind.DOG, "in the side yard, knock first"),
    (CautionKind.FISH_POND, "behind the patio"),
)


def note_the_ground(*, visits: Sequence[Visit], by: Person, today: date) -> None:
    """Note at every other place of `visits` what to watch for, how to get in, what is asked."""
    for number, visit in enumerate(visits):
        if number % 2:
            continue
        kind, note = CAUTIONS[number // 2 % len(CAUTIONS)]
        add_caution(property_id=visit.property_id, kind=kind, note=note, by=by)
        _asked(visit, by, today)
        set_access(property_id=visit.property_id, by=by, gate_code="0000", parking="On the street")
    add_unit(property_id=visits[0].property_id, number="Upstairs", floor="2", by=by)


def _asked(visit: Visit, by: Person, today: date) -> None:
    add_preference(
        property_id=visit.property_id,
        kind=PreferenceKind.CALL_FIRST,
        said_by=visit.property.customer.name,
        said_on=today - timedelta(days=30),
        is_hard=False,
        note="half an hour before",
        by=by,
    )
