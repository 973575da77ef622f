"""Identifying a pest at a stop: the evidence below and the visit above, stored together."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from scheduling.models import VisitIdentification
from scheduling.selectors.today import own_visit
from sites.rules.identification.entries import NewIdentification
from sites.services.identifications import identify_at_stop

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Identification


@transaction.atomic
def identify_on_visit(
    *, visit_id: int, identification: NewIdentification, by: Person, now: datetime
) -> Identification:
    """Record what was identified at a stop of one's own; sent twice it changes nothing.

    Refused as in `record_identification`; a stop of somebody else is Http404.
    """
    require(by, Permission.WORK_STOPS)
    visit = own_visit(by, visit_id)
    row = identify_at_stop(place=visit.property, identification=identification, by=by, now=now)
    VisitIdentification.objects.get_or_create(identification=row, defaults={"visit": visit})
    return row
