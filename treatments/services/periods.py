"""Closing a period of a branch's log, and reopening it with a reason."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import branch_for
from accounts.services.audit import note_event
from treatments.models import PeriodClose
from treatments.rules.corrections import refuse_without_reason
from treatments.rules.periods import refuse_close, refuse_reopen
from treatments.selectors.period_leaves import period_payload
from treatments.selectors.periods import closed_through, waiting_inside
from treatments.services.log import append_leaf

if TYPE_CHECKING:
    from accounts.models import Branch, Person


@transaction.atomic
def close_period(*, branch_id: int, through: date, by: Person, now: datetime) -> PeriodClose:
    """Close a branch's log through a day: records dated up to it change no more.

    Refused: a day that is not over at the branch, one that is closed already, while requests wait
    for records inside.
    """
    require(by, Permission.CLOSE_PERIODS)
    branch = branch_for(by, branch_id)
    today = now.astimezone(ZoneInfo(branch.time_zone)).date()
    refuse_close(through, closed_through(branch.pk), today)
    waiting = waiting_inside(branch.pk, through)
    if waiting:
        raise Refused(
            "period",
            f"Requests that wait for a decision about records inside: {waiting}. Decide first.",
            field="through",
        )
    return _store(branch, PeriodClose.Kind.CLOSE, through, "", by, now)


@transaction.atomic
def reopen_period(
    *, branch_id: int, from_day: date, reason: str, by: Person, now: datetime
) -> PeriodClose:
    """Reopen a branch's log from a closed day on, with a reason; what lies before stays closed."""
    require(by, Permission.CLOSE_PERIODS)
    refuse_without_reason(reason)
    branch = branch_for(by, branch_id)
    refuse_reopen(from_day, closed_through(branch.pk))
    before = from_day - timedelta(days=1)
    return _store(branch, PeriodClose.Kind.REOPEN, before, reason.strip(), by, now)


def _store(
    branch: Branch,
    kind: PeriodClose.Kind,
    through: date,
    reason: str,
    by: Person,
    now: datetime,
) -> PeriodClose:
    row = PeriodClose.objects.create(
        branch=branch, kind=kind, through=through, reason=reason, created_by=by, created_at=now
    )
    note_event(by=by, act=f"{kind}_period", thing=row, now=now, through=through.isoformat())
    append_leaf(
        branch_id=branch.pk,
        kind="period",
        payload=period_payload(row),
        record=None,
        by=by,
        now=now,
    )
    return row
