"""What a contact of a customer sees of one property by their link: the next visit and around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.http import Http404

from accounts.rules.phones import readable
from accounts.selectors.notices import letters_to
from scheduling.models import Renewal, Visit
from scheduling.models.renewals import WAITING_STATES
from scheduling.rules.day_words import full_day, local
from scheduling.rules.prep import TREATMENT_WORDS, Answer
from scheduling.selectors.preparing import answer_to, planned_treatments, prep_items
from scheduling.selectors.visit_letters import PLAIN, coming_visits
from scheduling.selectors.visit_words import VisitWords, visit_words
from sites.selectors.exclusion import customer_tasks_of

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from accounts.models import Notice
    from scheduling.models import VisitAnswer
    from scheduling.rules.prep import PrepItem
    from sites.models import ExclusionTask
    from sites.selectors.logbook import Guest

MOST_LETTERS = 20


@dataclass(frozen=True)
class NextVisit:
    """The next visit as the customer reads it."""

    words: VisitWords
    planned: str
    items: Sequence[PrepItem]
    answer: VisitAnswer | None

    @property
    def is_confirmed(self) -> bool:
        return self.answer is not None and self.answer.answer == Answer.CONFIRMED


@dataclass(frozen=True)
class CustomerPage:
    """One property for one contact: no access notes, no other contact, no money."""

    visit: NextVisit | None
    next_service: str
    tasks: Sequence[ExclusionTask]
    letters: Sequence[Notice]
    phone: str


def customer_page(guest: Guest, now: datetime) -> CustomerPage:
    """Read the page of a link that lasts, in a fixed number of queries."""
    place = guest.place
    visit = _coming(guest, now).order_by("window_opens_at", "pk").first()
    return CustomerPage(
        visit=_next(visit) if visit else None,
        next_service=_next_service(place.pk),
        tasks=customer_tasks_of(place.pk),
        letters=_letters(guest)[:MOST_LETTERS],
        phone=readable(place.branch.phone) if place.branch.phone else "",
    )


def _coming(guest: Guest, now: datetime) -> QuerySet[Visit]:
    today = local(now, guest.branch.time_zone).date()
    return coming_visits(today).filter(property=guest.place, window_closes_at__gt=now)


def coming_visit_at(guest: Guest, pk: int, now: datetime) -> Visit:
    """A promised visit at the property of a link; otherwise Http404."""
    visit = _coming(guest, now).filter(pk=pk).first()
    if visit is None:
        raise Http404("No such visit.")
    return visit


def task_at(guest: Guest, pk: int) -> ExclusionTask:
    """An open task of the customer at the property of a link; otherwise Http404."""
    for task in customer_tasks_of(guest.place.pk):
        if task.pk == pk:
            return task
    raise Http404("No such task.")


def letter_at(guest: Guest, pk: int) -> Notice:
    """A letter to this contact about this property, with its paper; otherwise Http404."""
    for notice in _letters(guest):
        if notice.pk == pk and notice.attachment is not None:
            return notice
    raise Http404("No such letter.")


def _next(visit: Visit) -> NextVisit:
    zone = visit.property.branch.time_zone
    planned = ", ".join(TREATMENT_WORDS[one].lower() for one in planned_treatments(visit))
    return NextVisit(
        visit_words(visit, zone), planned or PLAIN, prep_items(visit), answer_to(visit)
    )


def _next_service(property_id: int) -> str:
    waiting = Renewal.objects.filter(property=property_id, state__in=WAITING_STATES)
    due = waiting.order_by("due_on").values_list("due_on", flat=True).first()
    return full_day(due) if due else ""


def _letters(guest: Guest) -> Sequence[Notice]:
    """What was sent to this address about this property, the newest first."""
    place, contact = guest.place, guest.link.contact
    visits = Visit.objects.filter(property=place).order_by("-pk").values_list("pk", flat=True)
    offers = Renewal.objects.filter(property=place).order_by("-pk").values_list("pk", flat=True)
    about = [f"scheduling.visit:{pk}" for pk in visits[:50]]
    about += [f"scheduling.renewal:{pk}" for pk in offers[:50]]
    return letters_to(contact, [*about, f"sites.property:{place.pk}"])
