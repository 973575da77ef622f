"""Withdrawing a label for the whole firm, and lifting that again: always a row of its own."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.lines import line
from accounts.services.audit import note_event
from treatments.models import LabelVersion, LabelWithdrawal
from treatments.selectors.withdrawals import withdrawal_of
from treatments.services.label_rows import locked_version
from treatments.services.recalls import close_recalls, tell_branches

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def withdraw_label(
    *, label_version_id: int, last_day: date, reason: str, by: Person | None, now: datetime
) -> LabelWithdrawal:
    """Say after which day no lot of a label is used any more, also where it was used before.

    Every branch that holds a lot or a load of it is told by an open item until none is left.
    Refused: a label still being entered, no reason, the day that is said already.
    """
    require(by, Permission.EDIT_LABELS)
    version = locked_version(label_version_id)
    if version.is_draft:
        raise Refused("label", "This label is still being entered: no lot is judged by it yet.")
    known = withdrawal_of(version)
    if known is not None and known.not_to_be_used_after == last_day:
        sentence = f"It is withdrawn after {short_day(last_day, True)} already. Choose another day."
        raise Refused("label", sentence, field="last_day")
    row = _added(version, last_day, reason, by, now)
    tell_branches(version, now)
    return row


@transaction.atomic
def lift_withdrawal(
    *, label_version_id: int, reason: str, by: Person | None, now: datetime
) -> LabelWithdrawal:
    """Take a withdrawal back by a second row; what was judged in between stays as it was.

    Refused: a label that is not withdrawn, no reason.
    """
    require(by, Permission.EDIT_LABELS)
    version = locked_version(label_version_id)
    if withdrawal_of(version) is None:
        raise Refused("label", "This label is not withdrawn. Nothing is there to lift.")
    row = _added(version, None, reason, by, now)
    close_recalls(version, now)
    return row


def _added(
    version: LabelVersion, last_day: date | None, reason: str, by: Person | None, now: datetime
) -> LabelWithdrawal:
    row = LabelWithdrawal.objects.create(
        label_version=version,
        not_to_be_used_after=last_day,
        reason=line(reason, field="reason", label="Reason", most=300),
        at=now,
        created_by=by,
    )
    note_event(
        by=by,
        act="withdraw_label" if last_day else "lift_withdrawal",
        thing=version,
        now=now,
        last_day=last_day.isoformat() if last_day else "",
        reason=row.reason,
    )
    return row
