"""Notices: queued for the mail server, given by hand, sent again, forgotten; templates of the firm.

Whoever knows decides when and which; here a notice is stored once by its key. Sending is in
`services/sending`.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Q

from accounts.models import Notice, NoticeEvidence, NoticeTemplate
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import email_line, line
from accounts.rules.notice_text import checked, filled
from accounts.rules.notices import (
    BY_HAND,
    IN_DOUBT,
    MAY_GO_AGAIN,
    NOT_SENT,
    Draft,
    Evidence,
    Kind,
    State,
    Way,
)
from accounts.selectors.notices import notice_for, template_of
from accounts.services.audit import close_items, note_event, open_item

if TYPE_CHECKING:
    from accounts.models import Person

LONGEST_NAME, LONGEST_SAID = 160, 200
LARGEST_PAPER = 5_000_000
ARRIVED = (Evidence.HANDED, Evidence.OPENED)
HANDED_OVER = "The customer has it another way."
CAME_BACK = "An e-mail to a customer came back. Put the address right, or give it another way."
NOTHING = {
    "to_name": "", "to_email": "", "subject": "", "body": "", "attachment": None,
    "attachment_name": "", "last_answer": "",
}  # fmt: skip


@transaction.atomic
def queue(*, draft: Draft, by: Person | None, now: datetime) -> Notice:
    """Store a notice for the mail server, once by its key; the same key gives the first one back.

    The words are those of the template now. Refused: no address or one that is none, a paper over
    5 MB.
    """
    address = email_line(draft.to_email, needed=True)
    text = filled(template_of(draft.kind), draft.values)
    return _stored(draft, Way.EMAIL, State.WAITING, by, now, {
        "to_email": address, "subject": text.subject, "body": text.body, "waits_since": now,
        "next_try_at": now,
    })  # fmt: skip


@transaction.atomic
def give_by_hand(*, draft: Draft, way: Way, by: Person, now: datetime) -> Notice:
    """Note that a notice was handed over or shown, once by its key: the row and its evidence."""
    notice = _stored(draft, way, State.BY_HAND, by, now, {})
    if not notice.evidence.exists():
        _append(notice, BY_HAND[way], by, now, "")
    return notice


def _stored(
    draft: Draft, way: Way, state: State, by: Person | None, now: datetime, more: dict[str, object]
) -> Notice:
    name = line(draft.to_name, field="to_name", label="To whom", most=LONGEST_NAME)
    notice, is_new = Notice.objects.get_or_create(
        unique_key=draft.unique_key,
        defaults={
            "kind": draft.kind,
            "way": way,
            "state": state,
            "branch_id": draft.branch_id,
            "customer_id": draft.customer_id,
            "about": draft.about,
            "to_name": name,
            "keep_until": draft.keep_until,
            "created_by": by,
            "created_at": now,
            **_paper(draft, is_kept=way == Way.EMAIL),
            **(_link(draft) if way == Way.EMAIL else {}),
            **more,
        },
    )
    if is_new:
        note_event(by=by, act="make_notice", thing=notice, now=now, kind=draft.kind, way=way)
    return notice


def _paper(draft: Draft, *, is_kept: bool) -> dict[str, object]:
    """The paper with its digest; of one given by hand only the digest, the paper has left us."""
    paper = draft.attachment
    if paper is None:
        return {}
    if len(paper.content) > LARGEST_PAPER:
        raise Refused("paper", "The paper is over 5 MB and no mail server takes it. Print it.")
    return {
        "attachment": paper.content if is_kept else None,
        "attachment_name": line(paper.name, field="name", label="File name", most=80),
        "attachment_type": paper.media_type,
        "attachment_sha256": sha256(paper.content).hexdigest(),
    }


def _link(draft: Draft) -> dict[str, object]:
    if draft.link is None:
        return {}
    return {
        "link_contact_id": draft.link.contact_id,
        "link_property_ref": draft.link.property_ref,
        "link_last_day": draft.link.last_day,
    }


def _append(
    notice: Notice, kind: Evidence, by: Person | None, now: datetime, said: str
) -> NoticeEvidence:
    return NoticeEvidence.objects.create(notice=notice, kind=kind, at=now, by=by, said=said)


def settle_not_sent(*, notice_ids: Collection[int], now: datetime) -> int:
    """Close what asks to give these notices another way: a paper was handed over; how many."""
    return sum(
        close_items(code=code, thing=notice, note=HANDED_OVER, now=now)
        for notice in Notice.objects.filter(pk__in=notice_ids).order_by("pk")
        for code in (IN_DOUBT, NOT_SENT)
    )


@transaction.atomic
def note_evidence(
    *, notice_id: int, kind: Evidence, by: Person | None, now: datetime, said: str = ""
) -> None:
    """Append what became known of a notice: it came back, was opened, handed over or shown.

    Refused: what only the mail server says, a notice that was never sent coming back.
    """
    require(by, Permission.SEE_NOTICES)
    notice = notice_for(by, notice_id)
    if kind == Evidence.TAKEN:
        raise Refused("evidence", "Only the mail server says that it took a notice.")
    if kind == Evidence.BOUNCED and notice.state not in (State.TAKEN, State.DOUBTFUL):
        raise Refused("evidence", "This notice was not sent, so it cannot have come back.")
    words = line(said, field="said", label="What was said", most=LONGEST_SAID, needed=False)
    if not notice.evidence.filter(kind=kind, said=words).exists():
        _append(notice, kind, by, now, words)
        note_event(by=by, act="note_evidence", thing=notice, now=now, kind=kind)
        if kind in ARRIVED:
            settle_not_sent(notice_ids=[notice.pk], now=now)
        if kind == Evidence.BOUNCED:
            open_item(branch_id=notice.branch_id, code=NOT_SENT, thing=notice, sentence=CAME_BACK)


@transaction.atomic
def send_again(*, notice_id: int, by: Person, now: datetime) -> None:
    """Have a notice sent once more, with the same words to the same address.

    Refused: one given by hand, one that waits or is on its way, one whose words were forgotten.
    """
    require(by, Permission.SEE_NOTICES)
    notice = notice_for(by, notice_id)
    again = Notice.objects.filter(
        pk=notice.pk, way=Way.EMAIL, state__in=MAY_GO_AGAIN, forgotten_at=None
    )
    if not again.update(state=State.WAITING, waits_since=now, next_try_at=now, claimed_at=None):
        raise Refused(
            "not_again",
            f"This notice is {notice.get_state_display().lower()} and cannot be sent again.",
        )
    note_event(by=by, act="send_notice_again", thing=notice, now=now)


def cancel_waiting(*, notice_ids: Collection[int], by: Person | None, now: datetime) -> int:
    """Take notices out of the queue that are not on their way yet; how many there were."""
    waiting = Notice.objects.filter(pk__in=notice_ids, state=State.WAITING)
    canceled = waiting.update(state=State.CANCELED, next_try_at=None)
    if canceled:
        note_event(by=by, act="cancel_notices", thing="notices", now=now, notices=[*notice_ids])
    return canceled


def forget(*, notice_ids: Collection[int], now: datetime) -> int:
    """Forget names, addresses, words and papers; kind, time, digest and evidence stay."""
    rows = Notice.objects.filter(pk__in=notice_ids, forgotten_at=None)
    rows.filter(state=State.WAITING).update(state=State.CANCELED, next_try_at=None)
    return rows.update(forgotten_at=now, **NOTHING)


@transaction.atomic
def forget_past(*, today: date, now: datetime) -> int:
    """Forget what notices with a last day of their own say, once that day is over."""
    past = Notice.objects.filter(Q(keep_until__lt=today) & Q(forgotten_at=None))
    return forget(notice_ids=list(past.values_list("pk", flat=True)), now=now)


@transaction.atomic
def save_template(*, kind: Kind, subject: str, body: str, by: Person, now: datetime) -> None:
    """Store the firm's own text of a kind; what is queued already keeps its words.

    Refused: what `rules/notice_text.checked` refuses.
    """
    require(by, Permission.EDIT_NOTICE_TEMPLATES)
    text = checked(kind, subject, body)
    template, _ = NoticeTemplate.objects.update_or_create(
        kind=kind,
        defaults={"subject": text.subject, "body": text.body},
        create_defaults={
            "subject": text.subject, "body": text.body, "created_by": by, "created_at": now,
        },
    )  # fmt: skip
    note_event(by=by, act="save_notice_template", thing=template, now=now, kind=kind)
