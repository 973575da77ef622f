"""Taking back: a booked visit, and a renewal the customer does not want."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from scheduling.models import Renewal, RouteStop, Visit
from scheduling.rules.visit_states import RenewalState, VisitState, check_renewal_transition
from scheduling.selectors.visits import visit_for
from scheduling.services.keepers import keep_keepers
from scheduling.services.visits import change_state, close_renewal_of

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def cancel_visit(*, visit_id: int, reason: str = "", by: Person | None, now: datetime) -> Visit:
    """Cancel a booked visit; its place is free again and its renewal goes back to due.

    Refused: a visit that was started or is over.
    """
    require(by, Permission.BOOK_VISITS)
    visit = visit_for(by, visit_id)
    change_state(visit, VisitState.CANCELED, ending_note=reason.strip()[:300])
    RouteStop.objects.filter(visit=visit).delete()
    note_event(by=by, act="cancel_visit", thing=visit, now=now, reason=reason)
    close_renewal_of(visit_id=visit.pk, by=by, now=now)
    keep_keepers(visit, now)
    return visit


@transaction.atomic
def decline_renewal(*, renewal_id: int, reason: str, by: Person | None, now: datetime) -> Renewal:
    """Note that the customer does not want the renewal, with the reason.

    Refused: without a reason, while a visit is booked, when it is closed already.
    """
    require(by, Permission.BOOK_VISITS)
    renewal = _locked(by, renewal_id)
    if not reason.strip():
        raise Refused("no_reason", "Write why the customer declined.")
    if renewal.state == RenewalState.BOOKED:
        raise Refused("renewal_state", "A visit is booked for this. Cancel the visit first.")
    return _move(renewal, RenewalState.DECLINED, reason.strip()[:300], by, now)


@transaction.atomic
def reopen_renewal(*, renewal_id: int, by: Person | None, now: datetime) -> Renewal:
    """Make a declined renewal due again; refused for one in any other state."""
    require(by, Permission.BOOK_VISITS)
    renewal = _locked(by, renewal_id)
    if renewal.state != RenewalState.DECLINED:
        raise Refused("renewal_state", "This renewal was not declined. Reload the page to see it.")
    return _move(renewal, RenewalState.DUE, "", by, now)


def _locked(by: Person | None, renewal_id: int) -> Renewal:
    rows = Renewal.objects.select_for_update(of=("self",)).select_related("property__branch")
    renewal = rows.filter(pk=renewal_id, property__branch__in=branches_for(by)).first()
    if renewal is None:
        raise Http404("No such renewal.")
    return renewal


def _move(
    renewal: Renewal, new: RenewalState, note: str, by: Person | None, now: datetime
) -> Renewal:
    check_renewal_transition(RenewalState(renewal.state), new)
    renewal.state, renewal.closing_note = new, note
    renewal.save(update_fields=["state", "closing_note"])
    note_event(by=by, act=f"renewal_{new}", thing=renewal, now=now, note=note)
    return renewal
