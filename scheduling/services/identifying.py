"""Identifying a pest at a stop or of a finding: the evidence below and the visit above, as one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from scheduling.models import VisitIdentification
from scheduling.selectors.reach import own_open_visit, reachable
from scheduling.selectors.today import own_visit
from sites.rules.identification.entries import NewIdentification
from sites.selectors.inspections import finding_for
from sites.services.identifications import identify_at_stop, record_identification
from sites.services.inspections import name_finding
from sites.services.photos import Uploaded

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Identification


@transaction.atomic
def identify_on_visit(
    *,
    visit_id: int,
    identification: NewIdentification,
    by: Person,
    now: datetime,
    photos: Sequence[Uploaded] = (),
) -> Identification:
    """Record what was identified at a stop of one's own; sent twice it changes nothing.

    Refused as in `record_identification`; a stop of somebody else is Http404.
    """
    require(by, Permission.WORK_STOPS)
    visit = own_visit(by, visit_id)
    row = identify_at_stop(
        place=visit.property, identification=identification, photos=photos, by=by, now=now
    )
    VisitIdentification.objects.get_or_create(identification=row, defaults={"visit": visit})
    return row


@transaction.atomic
def identify_finding(
    *,
    finding_id: int,
    identification: NewIdentification,
    photos: Sequence[Uploaded],
    by: Person,
    now: datetime,
    today: date,
) -> Identification:
    """Record what a finding within reach was identified as; at a stop of one's own with the visit.

    Refused as in `record_identification` and `name_finding`; one out of reach is Http404.
    """
    require(by, Permission.INSPECT)
    within = reachable(by, today)
    place = finding_for(within, finding_id).inspection.property
    row = record_identification(
        place=place, identification=identification, photos=photos, by=by, now=now
    )
    name_finding(within=within, finding_id=finding_id, identification=row, by=by)
    visit = own_open_visit(by, place.pk, today)
    if visit is not None:
        VisitIdentification.objects.get_or_create(identification=row, defaults={"visit": visit})
    return row
