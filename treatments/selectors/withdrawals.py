"""Whether a label is withdrawn, since when and why: its newest row says it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import OuterRef, Subquery

from accounts.rules.day_words import short_day
from treatments.models import ApplicationRecord, LabelVersion, LabelWithdrawal

MOST_RECORDS = 20


@dataclass(frozen=True)
class WithdrawalLine:
    """One row in words: what it said, why, who and when."""

    words: str
    reason: str
    by: str
    at: str


@dataclass(frozen=True)
class Withdrawal:
    """How a label stands: the row in force, what was said before it, records after its last day."""

    now: WithdrawalLine | None
    before: tuple[WithdrawalLine, ...]
    records_after: tuple[int, ...]


def withdrawal_of(version: LabelVersion) -> LabelWithdrawal | None:
    """The row that withdraws a label; None where none does, or the newest lifted it.

    Without a query where `withdrawals` is prefetched.
    """
    newest = max(version.withdrawals.all(), key=lambda row: row.pk, default=None)
    return newest if newest and newest.not_to_be_used_after else None


def ended_by(version: LabelVersion, on: date) -> LabelWithdrawal | None:
    """The row that withdraws a label, once its last day is over."""
    row = withdrawal_of(version)
    last = row.not_to_be_used_after if row else None
    return row if last is not None and last < on else None


def last_day_of(label: str) -> Subquery:
    """The last day of the label that a query names at `label`; NULL where it is not withdrawn."""
    rows = LabelWithdrawal.objects.filter(label_version=OuterRef(label)).order_by("-pk")
    return Subquery(rows.values("not_to_be_used_after")[:1])


def withdrawal_words(version: LabelVersion) -> Withdrawal:
    """The withdrawals of a label in words, the newest first; give them read with who made them."""
    rows = sorted(version.withdrawals.all(), key=lambda row: -row.pk)
    in_force = withdrawal_of(version)
    lines = tuple(_line(row) for row in rows)
    return Withdrawal(
        now=lines[0] if in_force else None,
        before=lines[1:] if in_force else lines,
        records_after=_records_after(in_force) if in_force else (),
    )


def _line(row: LabelWithdrawal) -> WithdrawalLine:
    last = row.not_to_be_used_after
    return WithdrawalLine(
        words=f"Not to be used after {short_day(last, True)}" if last else "Withdrawal lifted",
        reason=row.reason,
        by=row.created_by.full_name if row.created_by else "the system",
        at=short_day(row.at.date(), True),
    )


def _records_after(row: LabelWithdrawal) -> tuple[int, ...]:
    """Work done after the last day, also where it was recorded before anybody knew of it."""
    records = ApplicationRecord.objects.filter(
        label_version=row.label_version_id, applied_on__gt=row.not_to_be_used_after
    )
    return tuple(records.order_by("-pk").values_list("pk", flat=True)[:MOST_RECORDS])
