"""What a technician does at a stop: start, record, finish, or end it undone.

The one place where a record of the floor below and a visit of this floor are stored together.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from scheduling.models import Visit, VisitApplication
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.visit_states import VisitState
from scheduling.services.visits import close_renewal_of, end_visit, start_visit
from treatments.rules.applications import Application
from treatments.selectors.gathering import Gathered, gather
from treatments.services.awaited_loads import tell_of_missing_loads
from treatments.services.recording import Recorded, record_application, record_tank

if TYPE_CHECKING:
    from accounts.models import Person


def start_stop(*, visit_id: int, by: Person, now: datetime) -> Visit:
    """Start a booked stop of one's own."""
    require(by, Permission.WORK_STOPS)
    return start_visit(visit_id=visit_id, by=by, now=now)


@transaction.atomic
def end_not_done(*, visit_id: int, reason: str, note: str, by: Person, now: datetime) -> Visit:
    """End a stop without its work, or without the rest of it when something is recorded already.

    What was not treated goes back to the office's list of renewals.
    """
    require(by, Permission.WORK_STOPS)
    _hold(visit_id, by)
    has_records = VisitApplication.objects.filter(visit_id=visit_id).exists()
    ended = end_visit(
        visit_id=visit_id,
        state=VisitState.PART_DONE if has_records else VisitState.NOT_DONE,
        note=": ".join(part for part in (reason, note) if part),
        by=by,
        now=now,
    )
    if has_records:
        close_renewal_of(visit_id=visit_id, by=by, now=now)
        tell_of_missing_loads(visit_ref=str(ended.ref))
    return ended


def record_at_stop(
    *, visit_id: int, application: Application, finish: bool, by: Person, now: datetime
) -> Recorded:
    """Store a record with its judgements, log leaf and windows, and the end of the stop, as one.

    The visit is taken first, then the property and the log below it. A record sent twice returns
    the first answer and changes nothing, but that a stop still open is ended when it now shall
    be. Refused: a stop of somebody else, a record of another property, a stop that is over.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    # read before the visit is held: the others wait for nothing but what must be in turn
    gathered = gather(application, by)
    with transaction.atomic():
        return _record_at_stop(visit_id, application, gathered, finish=finish, by=by, now=now)


def _record_at_stop(
    visit_id: int,
    application: Application,
    gathered: Gathered,
    *,
    finish: bool,
    by: Person,
    now: datetime,
) -> Recorded:
    visit = _own_visit(visit_id, by)
    _refuse_other(visit, application)
    is_first, is_open = _is_first(visit, application), visit.state in OPEN_STATES
    if is_first or (finish and is_open):
        _take(visit, finish=finish, by=by, now=now)
    recorded = record_application(application=application, by=by, now=now, gathered=gathered)
    if is_first:
        VisitApplication.objects.create(visit=visit, record=recorded.record)
    if finish and is_open:
        close_renewal_of(visit_id=visit.pk, by=by, now=now)
        tell_of_missing_loads(visit_ref=str(visit.ref))
    return recorded


def record_tank_at_stop(
    *, visit_id: int, applications: Sequence[Application], finish: bool, by: Person, now: datetime
) -> tuple[Recorded, ...]:
    """Store the records of one load of several products as `record_at_stop` does one.

    All of them or none; sent twice they change nothing. Refused besides: records that are not of
    one spray, a product of the load without its record.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    gathered = [gather(one, by) for one in applications]
    with transaction.atomic():
        return _record_tank_at_stop(visit_id, applications, gathered, finish=finish, by=by, now=now)


def _record_tank_at_stop(
    visit_id: int,
    applications: Sequence[Application],
    gathered: Sequence[Gathered],
    *,
    finish: bool,
    by: Person,
    now: datetime,
) -> tuple[Recorded, ...]:
    visit = _own_visit(visit_id, by)
    for one in applications:
        _refuse_other(visit, one)
    new = [one for one in applications if _is_first(visit, one)]
    is_open = visit.state in OPEN_STATES
    if new or (finish and is_open):
        _take(visit, finish=finish, by=by, now=now)
    recorded = record_tank(applications=applications, by=by, now=now, gathered=gathered)
    for sent, stored in zip(applications, recorded, strict=True):
        if sent in new:
            VisitApplication.objects.create(visit=visit, record=stored.record)
    if finish and is_open:
        close_renewal_of(visit_id=visit.pk, by=by, now=now)
        tell_of_missing_loads(visit_ref=str(visit.ref))
    return recorded


def _refuse_other(visit: Visit, application: Application) -> None:
    if application.property_id != visit.property_id or application.visit_ref != str(visit.ref):
        raise Refused("other_property", "This record names another stop. Open the stop again.")


def _is_first(visit: Visit, application: Application) -> bool:
    sent = VisitApplication.objects.filter(visit=visit, record__client_ref=application.client_ref)
    return not sent.exists()


def _hold(visit_id: int, by: Person) -> Visit | None:
    """Hold the visit: of two sendings of one record the second waits and finds the first."""
    return Visit.objects.select_for_update().filter(pk=visit_id, technician=by).first()


def _own_visit(visit_id: int, by: Person) -> Visit:
    visit = _hold(visit_id, by)
    if visit is None:
        raise Refused("not_your_stop", "This stop is not yours. Go back to today's stops.")
    return visit


def _take(visit: Visit, *, finish: bool, by: Person, now: datetime) -> None:
    """Start a stop that was not started, and end it with its last record."""
    if visit.state == VisitState.BOOKED:
        start_visit(visit_id=visit.pk, by=by, now=now)
    if finish:
        end_visit(visit_id=visit.pk, state=VisitState.DONE, note="", by=by, now=now)
    elif visit.state not in OPEN_STATES:
        raise Refused("stop_over", "This stop is over. Ask the office to book another visit.")
