"""Reading exclusion tasks."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from sites.models import ExclusionTask, Property
from sites.rules.sealing import Does
from sites.selectors.properties import properties_for

if TYPE_CHECKING:
    from accounts.models import Person

VIEWS = {"open": "Open", "due": "Past due", "customer": "Of customers", "ended": "Ended"}


def _tasks() -> QuerySet[ExclusionTask]:
    return ExclusionTask.objects.select_related(
        "finding__inspection__property__customer",
        "finding__inspection__property__branch",
        "finding__pest",
        "ending",
    ).prefetch_related("asks")


def task_for(within: QuerySet[Property], pk: int) -> ExclusionTask:
    """One task of a property within reach, else Http404."""
    rows = _tasks().filter(finding__inspection__property__in=within.values("pk"))
    return get_object_or_404(rows, pk=pk)


def tasks_of(property_id: int) -> list[ExclusionTask]:
    """The open tasks of a property, first due first."""
    rows = _tasks().filter(finding__inspection__property=property_id, ending=None)
    return list(rows.order_by("due_on", "pk"))


def tasks_at(property_id: int) -> tuple[list[ExclusionTask], list[ExclusionTask]]:
    """The open tasks of a property, first due first, and those that ended, the last first.

    One query: how often a customer was asked is not read with them.
    """
    rows = list(_tasks().prefetch_related(None).filter(finding__inspection__property=property_id))
    ended = [one for one in rows if hasattr(one, "ending")]
    ended.sort(key=lambda one: (one.ending.ended_on, one.pk), reverse=True)
    return [one for one in rows if not hasattr(one, "ending")], ended


def customer_tasks_of(property_id: int) -> list[ExclusionTask]:
    """What the customer still has to do at a property."""
    return [task for task in tasks_of(property_id) if task.is_customers]


def past_due_of_customers(today: date) -> list[ExclusionTask]:
    """Open tasks of every customer whose day is over; for the sweep."""
    rows = _tasks().filter(ending=None, does=Does.CUSTOMER, due_on__lt=today)
    return list(rows.order_by("pk"))


def tasks_for(person: Person, view: str, today: date) -> QuerySet[ExclusionTask]:
    """Tasks of the person's branches: open, past due, of customers, or ended."""
    places = properties_for(person).values("pk")
    rows = _tasks().filter(finding__inspection__property__in=places)
    if view == "ended":
        return rows.filter(ending__isnull=False).order_by("-ending__ended_on", "-pk")
    still = rows.filter(ending=None).order_by("due_on", "pk")
    if view == "due":
        return still.filter(due_on__lt=today)
    return still.filter(does=Does.CUSTOMER) if view == "customer" else still
