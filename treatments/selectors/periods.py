"""Through which day a branch's log is closed, and how it came to be."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from accounts.selectors.people import branches_for
from treatments.models import CorrectionRequest, PeriodClose

if TYPE_CHECKING:
    from accounts.models import Branch, Person


@dataclass(frozen=True)
class BranchPeriods:
    """One branch, the last closed day, and every closing and reopening, the newest first."""

    branch: Branch
    through: date | None
    rows: tuple[PeriodClose, ...]


def closed_through(branch_id: int) -> date | None:
    """The last closed day of a branch's log; None when no day is closed."""
    rows = PeriodClose.objects.filter(branch_id=branch_id).order_by("-pk")
    return rows.values_list("through", flat=True).first()


def closed_by_branch(branch_ids: Collection[int]) -> dict[int, date | None]:
    """The last closed day of each of these branches; one query."""
    rows = PeriodClose.objects.filter(branch_id__in=branch_ids).order_by("pk")
    return dict(rows.values_list("branch_id", "through"))


def periods_for(person: Person) -> list[BranchPeriods]:
    """The branches somebody may see with their closed periods; two queries."""
    rows = PeriodClose.objects.select_related("created_by").order_by("-pk")
    found: dict[int, list[PeriodClose]] = {}
    for row in rows.filter(branch__in=branches_for(person)):
        found.setdefault(row.branch_id, []).append(row)
    return [
        BranchPeriods(branch, _through(found.get(branch.pk)), tuple(found.get(branch.pk, ())))
        for branch in branches_for(person).order_by("name")
    ]


def _through(rows: list[PeriodClose] | None) -> date | None:
    return rows[0].through if rows else None


def waiting_inside(branch_id: int, through: date) -> int:
    """How many requests wait for records dated up to a day."""
    waiting = CorrectionRequest.objects.filter(state=CorrectionRequest.State.ASKED)
    return waiting.filter(record__branch_id=branch_id, record__applied_on__lte=through).count()
