"""Giving the customer a copy of what was recorded, and following what became of it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.notices import MAY_GO_AGAIN, Attachment, Draft, Evidence, Kind, State, Way
from accounts.selectors.customers import contacts_of
from accounts.selectors.open_items import open_about
from accounts.services.notices import cancel_waiting, forget_past, give_by_hand, queue
from accounts.services.sending import Sent, send_due
from scheduling.rules.day_words import local
from scheduling.selectors.copies import (
    LEFT,
    CopyWork,
    copy_work,
    paper_of,
    values_of,
    work_of,
)
from scheduling.services.sweep import firm_day
from treatments.reports.notice import draw_notice
from treatments.rules.audit.kinds import CORRECTED_COPY
from treatments.selectors.audit import thing_of
from treatments.selectors.copies import CopyLine, copies_of, with_earlier
from treatments.selectors.notices import personal
from treatments.services.copies import name_entries, settle_given

if TYPE_CHECKING:
    from accounts.models import Contact, Notice, Person
    from treatments.models import ApplicationRecord

FORGOTTEN = Refused(
    "forgotten", "The names of this record are no longer kept, so no copy of it can be made."
)


def give_copy(*, record_id: int, to: str, way: Way, by: Person, now: datetime) -> Notice:
    """Give one person a copy of what stands of a record and its visit.

    `to` is a contact's key or `LEFT`. The same copy goes to one address once, and is handed to one
    person once a day. Refused: somebody else's contact, e-mail without an address or to who wants
    no notices, one that was e-mailed there before, a record that was voided or whose names are
    gone.
    """
    require(by, Permission.GIVE_COPIES)
    work = copy_work(by, record_id)
    if not work.standing:
        raise Refused("voided", "This record was voided. There is no copy of it to give.")
    contact = _contact(work, to)
    paper = _paper(work)
    with transaction.atomic():
        _refuse_changed(work, by)
        if way != Way.EMAIL:
            return _by_hand(work, contact, way, paper, by, now)
        return _by_email(work, _addressed(contact), paper, by, now)


def _paper(work: CopyWork) -> Attachment | None:
    """The paper as bytes; None where nothing stands."""
    notice = paper_of(work, demo=settings.DEMO)
    if notice is None:
        return None
    return Attachment(f"copy-{work.asked.pk}.pdf", draw_notice(notice))


def _refuse_changed(work: CopyWork, by: Person) -> None:
    """The paper was drawn before the transaction: what it says must still be what stands."""
    if copy_work(by, work.asked.pk).keys != work.keys:
        raise Refused("changed", "The record was changed meanwhile. Open its last version.")


def _contact(work: CopyWork, to: str) -> Contact | None:
    if to == LEFT:
        return None
    known = contacts_of(work.asked.property.customer_id)
    contact = next((one for one in known if str(one.pk) == to), None)
    if contact is None:
        raise Refused("to", "Choose whom the copy is for.", field="to")
    return contact


def _addressed(contact: Contact | None) -> Contact:
    if contact is None:
        raise Refused("to", "Choose a person with an e-mail address.", field="to")
    if not contact.email:
        sentence = f"{contact.name} has no e-mail address. Hand over the paper, or add the address."
        raise Refused("to", sentence, field="to")
    if not contact.wants_notices:
        sentence = f"{contact.name} wants no notices by e-mail. Hand over the paper."
        raise Refused("to", sentence, field="to")
    return contact


def _by_email(
    work: CopyWork, contact: Contact, paper: Attachment | None, by: Person, now: datetime
) -> Notice:
    notice = queue(draft=_draft(work, contact, Kind.COPY, paper), by=by, now=now)
    name_entries(notice, work.keys)
    if notice.state in MAY_GO_AGAIN:
        raise Refused(
            "sent",
            "This copy went to that address before. The office can send it again from Notices.",
            field="to",
        )
    return notice


def _by_hand(
    work: CopyWork,
    contact: Contact | None,
    way: Way,
    paper: Attachment | None,
    by: Person,
    now: datetime,
) -> Notice:
    draft = _draft(work, contact, Kind.COPY, paper)
    day = local(now, work.branch.time_zone).date()
    key = f"{draft.unique_key}:{way}:{contact.pk if contact else 'left'}:{day}"
    if contact is None and way == Way.PHONE:
        raise Refused("to", "Choose who was shown the copy.", field="to")
    notice = give_by_hand(draft=replace(draft, unique_key=key), way=way, by=by, now=now)
    name_entries(notice, work.keys)
    settle_given(now=now)
    return notice


def _draft(
    work: CopyWork,
    contact: Contact | None,
    kind: Kind,
    paper: Attachment | None,
    change: str = "",
) -> Draft:
    said = personal(work.asked)
    if not said.get("customer_name"):
        raise FORGOTTEN
    name, email = (contact.name, contact.email) if contact else (LEFT, "")
    return _drafted(work, name, email, kind, paper, values_of(work, said, change))


def _drafted(
    work: CopyWork,
    name: str,
    email: str,
    kind: Kind,
    paper: Attachment | None,
    values: dict[str, str],
) -> Draft:
    about = thing_of(work.asked.pk)
    carried = f"{sorted(work.keys)} {email}"
    digest = sha256(carried.encode()).hexdigest()[:32]
    return Draft(
        kind=kind,
        branch_id=work.asked.branch_id,
        customer_id=work.asked.property.customer_id,
        about=about,
        unique_key=f"{kind}:{digest}",
        to_name=name,
        to_email=email,
        values={**values, "contact": name},
        attachment=paper,
    )


def queue_corrected(*, entry: ApplicationRecord, by: Person, now: datetime) -> int:
    """Queue the corrected copy for everybody who was e-mailed an earlier one; how many.

    In the transaction of the correction. A copy that still waits is taken out of the queue. Who
    was handed a paper, or nobody at all, stays an open item for a person.
    """
    if not any(item.code == CORRECTED_COPY for item in open_about([thing_of(entry.pk)])):
        return 0
    before = [line for line in _earlier(entry) if line.row.notice.way == Way.EMAIL]
    waiting = [line.row.notice.pk for line in before if line.row.notice.state == State.WAITING]
    work = work_of(entry)
    people = _reached(before, {*waiting} if not work.standing else set())
    cancel_waiting(notice_ids=waiting, by=by, now=now)
    paper = _paper(work) if people else None
    for email, name in people.items():
        _queue_corrected(work, name, email, paper, by, now)
    return len(people)


def _earlier(entry: ApplicationRecord) -> list[CopyLine]:
    return copies_of(with_earlier([entry]))


def _reached(lines: Iterable[CopyLine], never_sent: Collection[int]) -> dict[str, str]:
    """Addresses that a copy went or was to go to, with their names; not where it came back.

    Of work that was voided nobody is told who has no copy of it: `never_sent`.
    """
    found: dict[str, str] = {}
    for line in lines:
        notice = line.row.notice
        came_back = any(one.kind == Evidence.BOUNCED for one in notice.evidence.all())
        is_lost = came_back or notice.state in (State.REFUSED, State.FAILED)
        if notice.to_email and not is_lost and notice.pk not in never_sent:
            found[notice.to_email] = notice.to_name
    return found


def _queue_corrected(
    work: CopyWork,
    name: str,
    email: str,
    paper: Attachment | None,
    by: Person,
    now: datetime,
) -> None:
    change = "corrected" if work.standing else "voided"
    values = values_of(work, personal(work.asked), change)
    draft = _drafted(work, name, email, Kind.CORRECTED_COPY, paper, values)
    name_entries(queue(draft=draft, by=by, now=now), {*work.keys, work.asked.pk})


def send_notices(*, now: datetime) -> Sent:
    """Send what waits, close what the mail server's answers settle, forget what is past its day."""
    sent = send_due(now=now)
    settle_given(now=now)
    forget_past(today=firm_day(now), now=now)
    return sent
