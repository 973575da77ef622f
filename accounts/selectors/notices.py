"""Reading notices, what is known of them, and the texts they are made from."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.core.paginator import Page
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import Notice, NoticeEvidence, NoticeTemplate
from accounts.permissions import Permission, allows
from accounts.rules.notice_text import DEFAULTS, EXAMPLES, PLACEHOLDERS, Text, filled
from accounts.rules.notices import KIND_WORDS, MAY_GO_AGAIN, STATE_WORDS, Kind, State, Way
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for

if TYPE_CHECKING:
    from accounts.models import Person

FORGOTTEN = "no longer kept"


@dataclass(frozen=True)
class KnownLine:
    """One thing that is known of a notice: what, when, and who says so."""

    words: str
    at: datetime
    by: str
    said: str


@dataclass(frozen=True)
class NoticeRow:
    """A notice in words, with what is known of it at the other end."""

    notice: Notice
    kind: str
    way: str
    state: str
    to: str
    known: tuple[KnownLine, ...]

    @property
    def may_go_again(self) -> bool:
        """Whether a person may have it sent once more."""
        is_ours = self.notice.way == Way.EMAIL and self.notice.forgotten_at is None
        return is_ours and self.notice.state in MAY_GO_AGAIN

    @property
    def may_come_back(self) -> bool:
        """Whether it went out, so that it can have come back."""
        return self.notice.state in (State.TAKEN, State.DOUBTFUL)


@dataclass(frozen=True)
class TemplateRow:
    """The text of one kind, whether it is the firm's own, and what may be filled in."""

    kind: Kind
    words: str
    text: Text
    is_own: bool
    placeholders: tuple[tuple[str, str], ...]


def _notices_for(person: Person | None) -> QuerySet[Notice]:
    rows = Notice.objects.all()
    if person is None:
        return rows
    if not allows(person, Permission.SEE_NOTICES):
        return rows.none()
    return rows.filter(branch__in=branches_for(person))


def notice_for(person: Person | None, pk: int) -> Notice:
    """One notice of the person's branches; otherwise Http404."""
    return get_object_or_404(_notices_for(person).select_related("branch"), pk=pk)


def notice_row(person: Person, pk: int) -> NoticeRow:
    """One notice with what is known of it; otherwise Http404."""
    return row_of(notice_for(person, pk))


def notices_page(
    person: Person, *, kind: str, state: str, way: str, number: object
) -> tuple[Sequence[NoticeRow], Page[Any]]:
    """One page of 50 notices, newest first; empty filters are everything. Fixed queries."""
    wanted = {"kind": kind, "state": state, "way": way}
    rows = _notices_for(person).filter(**{name: value for name, value in wanted.items() if value})
    rows = rows.defer("attachment", "body").select_related("customer")
    page = page_of(rows.prefetch_related("evidence__by").order_by("-created_at", "-pk"), number)
    return [row_of(one) for one in page.object_list], page


def notices_about(things: Collection[str]) -> list[NoticeRow]:
    """The notices about things by table and key that the caller may show, newest first."""
    rows = Notice.objects.filter(about__in=things).defer("attachment", "body")
    return [row_of(one) for one in rows.prefetch_related("evidence__by").order_by("-pk")]


def evidence_given() -> QuerySet[NoticeEvidence]:
    """What is known of notices, with who said so; for a prefetch of a higher floor."""
    return NoticeEvidence.objects.select_related("by")


def row_of(notice: Notice) -> NoticeRow:
    """A notice in words; its evidence is read unless it was before."""
    return NoticeRow(
        notice,
        KIND_WORDS[Kind(notice.kind)],
        notice.get_way_display(),
        STATE_WORDS[State(notice.state)],
        FORGOTTEN if notice.forgotten_at else notice.to_name,
        tuple(
            KnownLine(one.get_kind_display(), one.at, one.by.full_name if one.by else "", one.said)
            for one in notice.evidence.all()
        ),
    )


def template_of(kind: Kind) -> Text:
    """The firm's own text of a kind, else the house's."""
    own = NoticeTemplate.objects.filter(kind=kind).first()
    return Text(own.subject, own.body) if own else DEFAULTS[kind]


def template_rows() -> tuple[TemplateRow, ...]:
    """The text of every kind, in one query."""
    own = {row.kind: Text(row.subject, row.body) for row in NoticeTemplate.objects.all()}
    return tuple(
        TemplateRow(kind, words, own.get(kind, DEFAULTS[kind]), kind in own, _may(kind))
        for kind, words in KIND_WORDS.items()
    )


def _may(kind: Kind) -> tuple[tuple[str, str], ...]:
    return tuple((f"{{{name}}}", words) for name, words in PLACEHOLDERS[kind].items())


def preview(text: Text) -> Text:
    """A template filled in with invented values."""
    return filled(text, EXAMPLES)
