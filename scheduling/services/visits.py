"""How a visit begins and ends, and what its end does to the renewal it answered."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from scheduling.models import Renewal, Visit
from scheduling.rules.day_words import local
from scheduling.rules.visit_states import RenewalState, VisitState, Work, check_transition
from scheduling.selectors.visits import seen_by, visit_for
from scheduling.services.reconcile import Outcome, reconcile, standing_of

if TYPE_CHECKING:
    from accounts.models import Person

ENDINGS = (VisitState.DONE, VisitState.PART_DONE, VisitState.NOT_DONE)


@transaction.atomic
def start_visit(*, visit_id: int, by: Person | None, now: datetime) -> Visit:
    """Start a booked visit; a visit that is started already stays as it is.

    Refused: a visit that is over. Another technician's visit is not found.
    """
    require(by, Permission.WORK_STOPS)
    visit = _own_visit(by, visit_id)
    if visit.state == VisitState.STARTED:
        return visit
    change_state(visit, VisitState.STARTED, started_at=now)
    note_event(by=by, act="start_visit", thing=visit, now=now)
    return visit


@transaction.atomic
def end_visit(
    *, visit_id: int, state: VisitState, note: str = "", by: Person | None, now: datetime
) -> Visit:
    """End a visit done, part done or not done.

    Refused: a visit that is over, no reason where nothing or only a part was done. Not done, its
    renewal goes back at once; otherwise `close_renewal_of` follows the record.
    """
    require(by, Permission.WORK_STOPS)
    visit = _own_visit(by, visit_id)
    _check_ending(state, note)
    change_state(visit, state, finished_at=now, ending_note=note.strip()[:300])
    note_event(by=by, act="end_visit", thing=visit, now=now, state=str(state), note=note)
    if state == VisitState.NOT_DONE:
        close_renewal_of(visit_id=visit.pk, by=by, now=now)
    return visit


def _check_ending(state: VisitState, note: str) -> None:
    if state not in ENDINGS:
        raise Refused("visit_state", "A visit ends done, part done or not done. Choose one.")
    if state != VisitState.DONE and not note.strip():
        raise Refused("no_reason", "Say why the work was not done, or which part was left.")


def _own_visit(by: Person | None, visit_id: int) -> Visit:
    visit = visit_for(by, visit_id)
    if by is not None and visit.technician_id != by.pk:
        raise Refused("not_your_stop", "This stop is not yours. Go back to today's stops.")
    return visit


def change_state(visit: Visit, new: VisitState, **fields: object) -> None:
    """Move a visit on by compare and set: of two who try, one does, the other is refused."""
    old = VisitState(visit.state)
    check_transition(old, new)
    if not Visit.objects.filter(pk=visit.pk, state=old).update(state=new, **fields):
        visit.refresh_from_db(fields=["state"])
        check_transition(VisitState(visit.state), new)
        raise Refused("visit_state", "Somebody changed this visit just now. Reload the page.")
    visit.refresh_from_db()


@transaction.atomic
def close_renewal_of(*, visit_id: int, by: Person | None, now: datetime) -> Renewal | None:
    """Close the renewal a visit answered: done when each of its windows was followed.

    Zones left over go back to due (DEVELOPERS.md, "Renewals follow windows"). Without a renewal,
    or when it is closed already, nothing changes.
    """
    visit = seen_by(by).select_related("property__branch").get(pk=visit_id)
    rows = Renewal.objects.select_for_update(of=("self",)).select_related("property")
    renewal = rows.filter(pk=visit.renewal_id or 0, state=RenewalState.BOOKED).first()
    if renewal is None:
        return None
    today = local(now, visit.property.branch.time_zone).date()
    if renewal.work != Work.TREAT and visit.state in (VisitState.DONE, VisitState.PART_DONE):
        return _inspected(renewal, visit, by, now)
    outcome = reconcile(renewal, standing_of([renewal], today), today=today, now=now, by=by)
    if outcome is not Outcome.UNCHANGED:
        note_event(by=by, act=f"renewal_{outcome}", thing=renewal, now=now, visit=visit.pk)
    return renewal


def _inspected(renewal: Renewal, visit: Visit, by: Person | None, now: datetime) -> Renewal:
    """An inspection in place of a treatment, by the season or the label, is done."""
    renewal.state = RenewalState.DONE
    why = (
        "no use of the product was left" if renewal.work == Work.LOOK else "withdrawn by the season"
    )
    renewal.closing_note = f"Inspected; no treatment: {why}."
    renewal.save(update_fields=["state", "closing_note"])
    note_event(by=by, act="renewal_inspected", thing=renewal, now=now, visit=visit.pk)
    return renewal
