"""What a technician does with devices at a stop: check them, record the bait that was added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import uuid5

from django.db import transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import keep_item, name_of
from scheduling.models import BaitRecord, Visit, VisitApplication
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.bait_groups import BaitGroup, bait_groups
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.device_rounds import bait_line, recorded_checks, unrecorded
from scheduling.selectors.today import own_visit
from scheduling.services.field import record_at_stop
from scheduling.services.visits import start_visit
from sites.rules.devices.entries import NewCheck
from sites.selectors.devices import bait_added_at
from sites.services.device_checks import keep_checks
from treatments.rules.applications import Application, Entered
from treatments.selectors.baits import bait_directions
from treatments.services.recording import Recorded, record_application

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import DeviceCheck

UNRECORDED = "device_bait_unrecorded"
GONE = "The bait stands in its record."


@transaction.atomic
def check_at_stop(
    *, visit_id: int, checks: Sequence[NewCheck], by: Person, now: datetime
) -> list[DeviceCheck]:
    """Keep one submission of checks at a stop of one's own; a booked stop is started with it.

    What was seen is kept also after the stop has ended. Bait that was added opens an item until
    its record is made. Refused besides `keep_checks`: a stop that was canceled.
    """
    require(by, Permission.WORK_STOPS)
    visit = _held(visit_id, by)
    if visit.state == VisitState.CANCELED:
        raise Refused("stop_over", "This stop was canceled. Ask the office to book another visit.")
    if visit.state == VisitState.BOOKED:
        start_visit(visit_id=visit.pk, by=by, now=now)
    ref = str(visit.ref)
    named = [replace(one, visit_ref=ref) for one in checks]
    kept = keep_checks(place=visit.property, checks=named, by=by, now=now)
    _tell_of_bait(visit, now)
    return kept


def _held(visit_id: int, by: Person) -> Visit:
    """Hold the visit, so that two sendings of one submission take turns; another's is Http404."""
    held = Visit.objects.select_for_update(of=("self",)).filter(pk=visit_id, technician=by)
    if not held.exists():
        raise Http404("No such stop of yours.")
    return own_visit(by, visit_id)


def _tell_of_bait(visit: Visit, now: datetime) -> None:
    """Bait that lies in a device and in no record is a matter until it is recorded."""
    groups = unrecorded(visit)
    what = "; ".join(group.words for group in groups)
    sentence = f"Bait was added at {visit.property} and is in no record: {what}." if what else ""
    keep_item(
        branch_id=visit.property.branch_id,
        code=UNRECORDED,
        thing=name_of(visit),
        sentence=sentence,
        gone=(GONE,),
        now=now,
    )


@transaction.atomic
def record_bait(
    *, visit_id: int, key: str, application: Application, by: Person, now: datetime
) -> Recorded | None:
    """Record the bait of some checks of a stop: one record for one product, lot and unit.

    `key` names the checks (`12-15`); amount, reference and the note of lot and devices are put
    here, from what the checks say; so is the lot, unless the application names one. None where
    it stands in a record already. Refused: checks of another visit or of several products, a
    direction of another label, and what a record refuses.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    visit = _held(visit_id, by)
    group = _group(visit, key)
    if group is None:
        return None
    if application.label_use_id not in [use.pk for use in bait_directions(group.first.ref)]:
        raise Refused("direction", f"Choose a direction for bait of {group.first.product}.")
    lot = application.lot_number or group.first.lot
    whole = replace(
        application,
        client_ref=uuid5(visit.ref, f"bait {group.key}"),
        property_id=visit.property_id,
        applicator_id=by.pk,
        visit_ref=str(visit.ref),
        product_amount=Entered(group.amount, group.first.unit),
        notes="\n".join(text for text in (group.note(lot), application.notes) if text),
        lot_number=lot,
    )
    recorded = _record(visit, whole, by, now)
    BaitRecord.objects.bulk_create(
        BaitRecord(check_of_id=line.check_id, record=recorded.record) for line in group.lines
    )
    _tell_of_bait(visit, now)
    return recorded


def _record(visit: Visit, whole: Application, by: Person, now: datetime) -> Recorded:
    if visit.state in OPEN_STATES:
        return record_at_stop(visit_id=visit.pk, application=whole, finish=False, by=by, now=now)
    # the bait lies there already: what was done is recorded also after the stop has ended
    recorded = record_application(application=whole, by=by, now=now)
    VisitApplication.objects.get_or_create(record=recorded.record, defaults={"visit": visit})
    return recorded


def _group(visit: Visit, key: str) -> BaitGroup | None:
    """The group of the named checks; None when all of it is recorded."""
    checks = {str(check.pk): check for check in bait_added_at(str(visit.ref))}
    named = [checks[one] for one in key.split("-") if one in checks]
    if not named or len(named) != len(set(key.split("-"))):
        raise Refused("bait", "This bait is not one of this round. Open the round again.")
    kept = recorded_checks([check.pk for check in named])
    if len(kept) == len(named):
        return None
    groups = bait_groups([bait_line(check) for check in named])
    if kept or len(groups) != 1:
        raise Refused("bait", "This bait has changed meanwhile. Open the round again.")
    return groups[0]
