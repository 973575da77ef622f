"""The office's list of exclusion tasks: what most is won by comes first, with its price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from sites.rules.gaps import lets_in_words, weight_of
from sites.selectors.exclusion import tasks_for
from sites.selectors.inspections import seen_among
from treatments.selectors.records import pests_treated_among

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import ExclusionTask


@dataclass(frozen=True)
class TaskRow:
    """A task, how much is won by it, and the pests its gap lets in."""

    task: ExclusionTask
    weight: int
    pests: str


@dataclass(frozen=True)
class ExclusionList:
    """The tasks of one view in order of work, with what they come to."""

    rows: Sequence[TaskRow]
    total: Decimal
    unpriced: int


def exclusion_list(person: Person, view: str, today: date) -> ExclusionList:
    """The tasks of the person's branches in one view, in a fixed number of queries.

    Pests let in times how often they were at that property come first, then the day; ended tasks
    stand by their day.
    """
    tasks = list(tasks_for(person, view, today))
    places = {one.finding.inspection.property_id for one in tasks}
    seen = seen_among(pests_treated_among(places))
    rows = [_row(one, seen[one.finding.inspection.property_id]) for one in tasks]
    if view != "ended":
        rows.sort(key=lambda row: (-row.weight, row.task.due_on, row.task.pk))
    ours = [one for one in tasks if not one.is_customers]
    prices = [one.price for one in ours if one.price is not None]
    return ExclusionList(rows, sum(prices, Decimal()), len(ours) - len(prices))


def _row(task: ExclusionTask, seen: dict[str, int]) -> TaskRow:
    gap = task.finding.gap
    return TaskRow(task, weight_of(gap, seen) if gap else 0, lets_in_words(gap) if gap else "")
