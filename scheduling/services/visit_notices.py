"""Letters about visits, derived from what is booked: appointment, reminder, offer, tasks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.notice_text import LINK_PLACE
from accounts.rules.notices import Attachment, Draft, Kind, LinkWish, Way
from accounts.selectors.customers import told_by_customer, told_contacts
from accounts.selectors.notices import keys_among, waiting_of_kinds
from accounts.services.audit import name_of, note_event
from accounts.services.notices import cancel_waiting, give_by_hand, queue
from scheduling.models import Renewal
from scheduling.models.renewals import WAITING_STATES
from scheduling.reports.letter import draw_letter
from scheduling.rules.day_words import local
from scheduling.rules.visit_notices import asks_again, is_reminded
from scheduling.rules.visit_states import RenewalState
from scheduling.selectors.renewal_pages import renewal_for
from scheduling.selectors.visit_letters import (
    OF_VISITS,
    Told,
    coming_visits,
    letter_of,
    offered_renewal,
    told_of_renewal,
    told_of_tasks,
    told_of_visit,
)
from scheduling.selectors.visits import visit_for
from sites.rules.exclusion import AskHow
from sites.selectors.exclusion import past_due_of_customers
from sites.services.task_asks import note_letter

if TYPE_CHECKING:
    from accounts.models import Contact, Notice, Person
    from scheduling.models import Visit
    from sites.models import ExclusionTask

# house rules: as long as the service stands in the logbook; a link a month beyond the visit
KEPT_FOR, LINK_LASTS = timedelta(days=730), timedelta(days=30)
LEFT = "the customer"


def keep_visit_notices(*, now: datetime) -> int:
    """Queue what customers are to hear of their visits and tasks now; how many letters.

    Each letter has a key of visit, promised hours and address: run again or twice at once it
    makes nothing a second time, and a visit that was moved is told anew. What still waits for a
    visit that is canceled, moved or begun is taken out of the queue.
    """
    today = now.date() - timedelta(days=1)  # the earliest day of any branch
    visits = list(coming_visits(today))
    _withdraw_stale(visits, now)
    told = told_by_customer(visit.property.customer_id for visit in visits)
    letters = [
        (visit, kind, contact)
        for visit in visits
        for kind in _due_kinds(visit, now)
        for contact in told.get(visit.property.customer_id, ())
    ]
    wanted = _unmade(letters)
    for visit, kind, contact in wanted:
        _queue_visit(visit, kind, contact, None, now)
    return len(wanted) + _chase(now)


def _due_kinds(visit: Visit, now: datetime) -> list[Kind]:
    if visit.window_opens_at <= now:
        return []
    zone = visit.property.branch.time_zone
    is_due = is_reminded(visit.day, visit.window_opens_at, visit.created_at, now, zone)
    return [Kind.APPOINTMENT, Kind.REMINDER] if is_due else [Kind.APPOINTMENT]


def _unmade(
    letters: list[tuple[Visit, Kind, Contact]],
) -> list[tuple[Visit, Kind, Contact]]:
    """Those that were not made before; drawing the paper is what costs."""
    known = keys_among([_key(kind, visit, contact.email) for visit, kind, contact in letters])
    once = {
        _key(kind, visit, contact.email): (visit, kind, contact) for visit, kind, contact in letters
    }
    return [letter for key, letter in once.items() if key not in known]


def _key(kind: Kind, visit: Visit, email: str) -> str:
    return f"{kind}:{visit.pk}:{visit.window_opens_at:%Y%m%d%H%M}:{_digest(email)}"


def _digest(email: str) -> str:
    return sha256(email.encode()).hexdigest()[:32]


def _withdraw_stale(visits: Iterable[Visit], now: datetime) -> None:
    """A letter that waited too long says what is not true any more."""
    still = {
        f"{visit.pk}:{visit.window_opens_at:%Y%m%d%H%M}"
        for visit in visits
        if visit.window_opens_at > now
    }
    stale = [
        notice.pk
        for notice in waiting_of_kinds(OF_VISITS)
        if ":".join(notice.unique_key.split(":")[1:3]) not in still
    ]
    cancel_waiting(notice_ids=stale, by=None, now=now)


@transaction.atomic
def _queue_visit(
    visit: Visit, kind: Kind, contact: Contact, by: Person | None, now: datetime
) -> Notice:
    told = told_of_visit(visit)
    if kind == Kind.REMINDER and told.tasks:
        note_letter(
            property_id=visit.property_id, how=AskHow.NOTICE, by=by, today=_today(told, now)
        )
    key = _key(kind, visit, contact.email)
    return queue(draft=_draft(told, kind, visit, key, contact, now, visit.day), by=by, now=now)


def _today(told: Told, now: datetime) -> date:
    return local(now, told.place.branch.time_zone).date()


def _draft(
    told: Told, kind: Kind, about: object, key: str, contact: Contact, now: datetime, ends: date
) -> Draft:
    letter = letter_of(told, kind, contact.name, now, demo=settings.DEMO)
    return Draft(
        kind=kind,
        branch_id=told.place.branch_id,
        customer_id=told.place.customer_id,
        about=name_of(about),
        unique_key=key,
        to_name=contact.name,
        to_email=contact.email,
        values={**told.values, "contact": contact.name, "link": LINK_PLACE},
        attachment=Attachment(f"{kind}.pdf", draw_letter(letter)),
        keep_until=ends + KEPT_FOR,
        link=LinkWish(contact.pk, told.place.pk, ends + LINK_LASTS),
    )


def hand_over(*, visit_id: int, kind: Kind, by: Person, now: datetime) -> Notice:
    """Note that the paper of a visit's letter was handed over; once a day.

    Refused: a visit that is over or canceled.
    """
    require(by, Permission.GIVE_COPIES)
    visit = visit_for(by, visit_id)
    told = told_of_visit(visit)
    today = _today(told, now)
    if visit.state != "booked":
        raise Refused("visit_state", "This visit is not booked any more, so nothing announces it.")
    letter = letter_of(told, kind, LEFT, now, demo=settings.DEMO)
    draft = Draft(
        kind=kind,
        branch_id=told.place.branch_id,
        customer_id=told.place.customer_id,
        about=name_of(visit),
        unique_key=f"{kind}:{visit.pk}:{visit.window_opens_at:%Y%m%d%H%M}:paper:{today}",
        to_name=LEFT,
        attachment=Attachment(f"{kind}.pdf", draw_letter(letter)),
        keep_until=visit.day + KEPT_FOR,
    )
    return give_by_hand(draft=draft, way=Way.PAPER, by=by, now=now)


@transaction.atomic
def offer_visit(*, renewal_id: int, by: Person, now: datetime) -> int:
    """E-mail the offer of a waiting renewal to everybody who hears of visits; how many.

    The renewal is offered from then on. Refused: one that does not wait, nobody with an address,
    offered to everybody today.
    """
    require(by, Permission.BOOK_VISITS)
    renewal = offered_renewal(renewal_for(by, renewal_id).pk)
    if renewal is None:
        raise Refused("renewal_state", "This renewal does not wait for a visit. Reload the page.")
    told = told_of_renewal(renewal)
    contacts = told_contacts(told.place.customer_id)
    if not contacts:
        sentence = "Nobody of this customer has an e-mail address and wants notices. Call them."
        raise Refused("to", sentence)
    today = _today(told, now)
    keys = {f"{Kind.OFFER}:{renewal.pk}:{today}:{_digest(one.email)}": one for one in contacts}
    new = {key: one for key, one in keys.items() if key not in keys_among(list(keys))}
    if not new:
        raise Refused("sent", "This was offered to everybody today.")
    for key, contact in new.items():
        queue(draft=_draft(told, Kind.OFFER, renewal, key, contact, now, today), by=by, now=now)
    _offered(renewal, by, now)
    return len(new)


def _offered(renewal: Renewal, by: Person, now: datetime) -> None:
    waiting = Renewal.objects.filter(pk=renewal.pk, state__in=WAITING_STATES)
    if not waiting.update(state=RenewalState.OFFERED):
        raise Refused("renewal_state", "Somebody booked or closed this renewal just now.")
    note_event(by=by, act="renewal_offered", thing=renewal, now=now)


def _chase(now: datetime) -> int:
    """Write to customers whose tasks are past their day; how many letters."""
    by_place: dict[int, list[ExclusionTask]] = {}
    for task in past_due_of_customers(now.date() + timedelta(days=1)):
        by_place.setdefault(task.finding.inspection.property_id, []).append(task)
    return sum(_chase_at(tasks, now) for tasks in by_place.values())


@transaction.atomic
def _chase_at(tasks: list[ExclusionTask], now: datetime) -> int:
    place = tasks[0].finding.inspection.property
    today = local(now, place.branch.time_zone).date()
    due = [one for one in tasks if _asks(one, today)]
    contacts = told_contacts(place.customer_id) if place.customer.status == "active" else []
    if not due or not contacts:
        return 0
    told = told_of_tasks(place, due)
    for contact in contacts:
        key = f"{Kind.TASKS}:{place.pk}:{today}:{_digest(contact.email)}"
        queue(draft=_draft(told, Kind.TASKS, place, key, contact, now, today), by=None, now=now)
    note_letter(property_id=place.pk, how=AskHow.LETTER, by=None, today=today)
    return len(contacts)


def _asks(task: ExclusionTask, today: date) -> bool:
    asks = list(task.asks.all())
    letters = sum(one.how == AskHow.LETTER for one in asks)
    return asks_again(task.due_on, [one.asked_on for one in asks], letters, today)
