"""What the inspection desk hands over, each noted and in the log with its digest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import IO, TYPE_CHECKING

from django.db import transaction
from django.http import Http404

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import LabelFile
from treatments.reports.desk_pdf import draw_desk
from treatments.rules.desk import HANDED_OVER_KIND, DeskList, counted
from treatments.selectors.desk import Gathered, Question, answer
from treatments.selectors.desk_stock import labels_at
from treatments.services.bundles import export_bundle
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads

if TYPE_CHECKING:
    from accounts.models import Branch, InspectorVisit, Person


@dataclass(frozen=True)
class To:
    """Who gets it at the desk of which branch: somebody of the firm, or an inspector's visit."""

    branch: Branch
    by: Person | None = None
    visit: InspectorVisit | None = None

    @property
    def who(self) -> str:
        return str(self.visit) if self.visit else ""


@dataclass(frozen=True)
class Paper:
    """One paper: its bytes and their SHA-256."""

    content: bytes
    sha256: str


def allow(to: To) -> None:
    """Refuse somebody of the firm without the permission; an inspector's visit has its own."""
    if to.visit is None:
        require(to.by, Permission.RECEIVE_INSPECTORS)
    elif to.visit.branch_id != to.branch.pk:
        raise Refused("not_permitted", "This visit is of another branch.")


def hand_over_paper(
    *,
    question: Question,
    found: Gathered,
    notices: DeskList,
    to: To,
    now: datetime,
    demo: bool,
) -> Paper:
    """The answer as PDF, with heads signed first, so that its proofs end now.

    `found` is what was gathered for the question. Refused: no key of the log.
    """
    allow(to)
    sign_heads(now=now)
    told = answer(question, found, to.branch, now, notices=notices, proved=True, demo=demo)
    content = draw_desk(told)
    records = len(told.records)
    return _noted("paper", content, question, to, now, records=records)


def hand_over_bundle(*, question: Question, to: To, now: datetime, out: IO[bytes]) -> str:
    """The bundle of the same question into an open file; its SHA-256. It has its leaf already."""
    allow(to)
    done = export_bundle(scope=question.scope, by=to.by, who=to.who, now=now, out=out)
    _note("bundle", done.sha256, question.words, to, now, done.records)
    return done.sha256


def hand_over_label(*, label_id: int, kind: str, to: To, now: datetime) -> tuple[LabelFile, Paper]:
    """One paper of a label that the branch used or bought; otherwise Http404."""
    allow(to)
    kept = LabelFile.objects.filter(label_version=label_id, kind=kind).first()
    if kept is None or label_id not in labels_at(to.branch.pk):
        raise Http404
    content = bytes(kept.content)
    question = f"{kept.get_kind_display()} of {kept.label_version}"
    return kept, _noted(f"{kind} of label {label_id}", content, question, to, now, records=0)


def hand_over_notice(*, content: bytes, visit_ref: str, words: str, to: To, now: datetime) -> Paper:
    """A notice of a visit, as it was drawn."""
    allow(to)
    return _noted(f"notice of visit {visit_ref}", content, words, to, now, records=0)


@transaction.atomic
def _noted(
    what: str, content: bytes, asked: Question | str, to: To, now: datetime, *, records: int
) -> Paper:
    digest = sha256(content).hexdigest()
    words = asked if isinstance(asked, str) else asked.words
    _note(what, digest, words, to, now, records)
    scope = {} if isinstance(asked, str) else asked.scope.plain()
    append_leaf(
        branch_id=to.branch.pk,
        kind=HANDED_OVER_KIND,
        payload={
            "version": 1,
            "what": what,
            "sha256": digest,
            "scope": scope,
            "records": records,
            "inspector_visit": to.visit.pk if to.visit else None,
        },
        record=None,
        by=to.by,
        now=now,
    )
    return Paper(content, digest)


def _note(what: str, digest: str, words: str, to: To, now: datetime, records: int) -> None:
    note_event(
        by=to.by or to.who,
        act=HANDED_OVER_KIND,
        thing=to.branch,
        now=now,
        what=what,
        sha256=digest,
        question=words,
        records=counted(records, "record") if records else "",
        inspector_visit=to.visit.pk if to.visit else None,
    )
