"""Asking customers for what they have to do: each ask is kept, what is past due is chased."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.selectors.open_items import open_about
from accounts.services.audit import keep_item, name_of, note_event
from sites.models import ExclusionTask, Property, TaskAsk
from sites.rules.exclusion import AskHow
from sites.rules.item_kinds import CUSTOMER_TASK
from sites.selectors.exclusion import customer_tasks_of, past_due_of_customers, task_for

if TYPE_CHECKING:
    from accounts.models import Person

ENDED = ("The task ended.",)


@transaction.atomic
def note_asks(*, property_id: int, how: AskHow, by: Person, today: date) -> int:
    """Keep that the customer of an authorized property was asked for every open task of theirs."""
    require(by, Permission.INSPECT)
    return sum(_asked(task, how, by, today) for task in customer_tasks_of(property_id))


@transaction.atomic
def note_letter(*, property_id: int, how: AskHow, by: Person | None, today: date) -> int:
    """Keep that a letter of the system asked the customer for every open task of theirs."""
    return sum(_asked(task, how, by, today) for task in customer_tasks_of(property_id))


def _asked(task: ExclusionTask, how: AskHow, by: Person | None, today: date) -> bool:
    _, is_new = TaskAsk.objects.get_or_create(
        task=task, asked_on=today, defaults={"how": how, "created_by": by}
    )
    return is_new


@transaction.atomic
def ask_again(
    *, within: QuerySet[Property], task_id: int, by: Person, now: datetime, today: date
) -> None:
    """Keep that somebody spoke to the customer about a task; twice in a day it counts once.

    Refused: a task of the firm, one that is ended; one out of reach is Http404.
    """
    require(by, Permission.INSPECT)
    task = task_for(within, task_id)
    if not task.is_customers or hasattr(task, "ending"):
        raise Refused("not_asked", "Only an open task of the customer is asked for.")
    if _asked(task, AskHow.TALK, by, today):
        note_event(by=by, act="ask_for_task", thing=task, now=now)
    _keep(task_for(within, task_id), today, now)


def chase_tasks(*, today: date, now: datetime) -> int:
    """Say anew what waits of customers past its day, with how often they were asked; how many.

    An item that somebody closed comes back when the customer was asked again.
    """
    tasks = past_due_of_customers(today)
    said = {one.thing: one.sentence for one in open_about([name_of(one) for one in tasks])}
    told = [one for one in tasks if said.get(name_of(one)) != chase_sentence(one, today)]
    for task in told:
        _keep(task, today, now)
    return len(told)


@transaction.atomic
def _keep(task: ExclusionTask, today: date, now: datetime) -> None:
    keep_item(
        branch_id=task.finding.inspection.property.branch_id,
        code=CUSTOMER_TASK,
        thing=name_of(task),
        sentence=chase_sentence(task, today),
        gone=ENDED,
        now=now,
    )


def chase_sentence(task: ExclusionTask, today: date) -> str:
    """What the office reads of a task that waits for a customer."""
    place = task.finding.inspection.property
    due = short_day(task.due_on, True)
    when = f"past due since {due}" if task.due_on < today else f"to do by {due}"
    return (
        f"{place}, for {place.customer.name}, {when}, {task.asked}: {task}. Ask whether it is done."
    )
