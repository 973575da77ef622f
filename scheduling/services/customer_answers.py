"""What customers answer: a visit confirmed, another time wished for, things prepared and done."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.rules.lines import line
from accounts.services.audit import close_items, name_of, note_event, open_item, open_item_once
from scheduling.models import PrepMark, Visit, VisitAnswer
from scheduling.rules.prep import Answer
from scheduling.selectors.customer_page import coming_visit_at, task_at
from scheduling.selectors.preparing import answer_to, prep_items
from scheduling.selectors.visit_words import visit_words
from scheduling.selectors.visits import visit_for

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.selectors.logbook import Guest

OTHER_TIME, SAID_DONE = "other_time_asked", "task_said_done"


@transaction.atomic
def answer_visit(
    *, guest: Guest, visit_id: int, answer: Answer, words: str, now: datetime
) -> VisitAnswer:
    """Keep what a contact answers to a promised visit; the same answer again is no second one.

    A wish for another time opens an item for the office; the visit stays until somebody moves it.
    Refused: words over 300 letters. A visit that is over, moved away or elsewhere is Http404.
    """
    visit = coming_visit_at(guest, visit_id, now)
    said = line(words, field="words", label="The time you wish", most=300, needed=False)
    before = answer_to(visit)
    if before is not None and (before.answer, before.words) == (answer, said):
        return before
    who = guest.link.contact.name
    made = VisitAnswer.objects.create(
        visit=visit, answer=answer, words=said, said_by=who, created_at=now,
        window_opens_at=visit.window_opens_at,
    )  # fmt: skip
    note_event(by=str(guest.link), act="visit_answered", thing=visit, now=now, answer=answer)
    _tell_office(visit, answer, said, who, now)
    return made


def _tell_office(visit: Visit, answer: Answer, said: str, who: str, now: datetime) -> None:
    close_items(code=OTHER_TIME, thing=visit, note=f"{who} answered again.", now=now)
    if answer == Answer.OTHER_TIME:
        words = visit_words(visit, visit.property.branch.time_zone)
        wish = f' They wish: "{said}".' if said else ""
        sentence = (
            f"{visit.property}: {who} asks for another time than {words.on}, {words.window}."
            f"{wish} Cancel the visit and book another, or call them."
        )
        open_item(
            branch_id=visit.property.branch_id, code=OTHER_TIME, thing=visit, sentence=sentence
        )


@transaction.atomic
def mark_by_link(*, guest: Guest, visit_id: int, done: Collection[str], now: datetime) -> int:
    """Keep which items a contact ticked before a visit; how many are done."""
    visit = coming_visit_at(guest, visit_id, now)
    note_event(by=str(guest.link), act="prep_marked", thing=visit, now=now)
    return _mark(visit, done, guest.link.contact.name, None, now)


@transaction.atomic
def mark_prepared(*, visit_id: int, done: Collection[str], by: Person, now: datetime) -> int:
    """Keep which items somebody of the firm found done, or heard so; how many are done."""
    require(by, Permission.INSPECT)
    visit = visit_for(by, visit_id)
    note_event(by=by, act="prep_marked", thing=visit, now=now)
    return _mark(visit, done, by.full_name, by, now)


def _mark(visit: Visit, done: Collection[str], who: str, by: Person | None, now: datetime) -> int:
    """Only items of this visit's own list are kept, whatever keys were sent."""
    items = prep_items(visit)
    for one in items:
        is_done = one.key in done
        if one.is_done is not is_done:
            PrepMark.objects.update_or_create(
                visit=visit, key=one.key,
                defaults={
                    "words": one.words, "is_done": is_done, "marked_at": now, "said_by": who,
                    "created_by": by,
                },
            )  # fmt: skip
    return sum(one.key in done for one in items)


@transaction.atomic
def say_task_done(*, guest: Guest, task_id: int, now: datetime) -> None:
    """A contact says that a task of theirs is done: the office looks and ends it; once a task."""
    task = task_at(guest, task_id)
    who = guest.link.contact.name
    sentence = f"{guest.place}: {who} says this is done: {task}. Look at it, then end the task."
    branch = guest.place.branch_id
    open_item_once(branch_id=branch, code=SAID_DONE, thing=name_of(task), sentence=sentence)
    note_event(by=str(guest.link), act="task_said_done", thing=task, now=now)
