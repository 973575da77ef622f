"""The history of a record as its page shows it: each version, who, when, why, what changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from accounts.permissions import Permission, allows
from treatments.models import ApplicationRecord, CorrectionRequest
from treatments.rules.corrections import changes_between
from treatments.rules.effective import ENTRY_WORDS, EntryKind, is_late
from treatments.rules.periods import is_closed
from treatments.selectors.corrections import changes_of, may_complete, requests_for
from treatments.selectors.entries import entries_beside, facts_of, said_at, written_down_at
from treatments.selectors.entry_words import ChangeWords, words_of
from treatments.selectors.periods import closed_through

if TYPE_CHECKING:
    from datetime import date

    from accounts.models import Person

MOST_LISTED = 200


@dataclass(frozen=True)
class Version:
    """One entry of a record."""

    number: int
    pk: int
    word: str
    is_now: bool
    is_void: bool
    is_late: bool
    at: datetime
    by: str
    approved_by: str
    is_one_person_firm: bool
    reason: str
    changes: tuple[ChangeWords, ...]
    url: str


@dataclass(frozen=True)
class History:
    """Every version of a record, the last one first, and what somebody may do about it.

    `closed_through` is the last day of a closed period that holds the record.
    """

    versions: tuple[Version, ...]
    shown: Version
    may_act: bool
    waiting: tuple[CorrectionRequest, ...]
    closed_through: date | None

    @property
    def last(self) -> Version:
        return self.versions[0]


@dataclass(frozen=True)
class RequestRow:
    """One request with its changes in words; `is_own` where who looks has asked for it.

    `others` are the requests for the other products of the tank, decided with it.
    """

    request: CorrectionRequest
    changes: tuple[ChangeWords, ...]
    is_own: bool
    is_late: bool
    others: tuple[RequestRow, ...] = ()


def history_for(person: Person, record: ApplicationRecord) -> History:
    """The history of a record somebody may see; a fixed number of queries for each version."""
    entries = entries_beside(record)
    versions = versions_of(entries)
    last = entries[-1]
    shut = closed_through(last.branch_id)
    is_shut = is_closed(last.applied_on, shut)
    can = last.entry != EntryKind.VOID and not is_shut and may_complete(person, last)
    keys = [one.pk for one in entries]
    waiting = requests_for(person).filter(record__in=keys, state=CorrectionRequest.State.ASKED)
    return History(
        versions=tuple(reversed(versions)),
        shown=next(one for one in versions if one.pk == record.pk),
        may_act=can,
        waiting=tuple(waiting),
        closed_through=shut if is_shut else None,
    )


def versions_of(entries: Sequence[ApplicationRecord]) -> list[Version]:
    """Each entry of one history, given the first one first with its lines read."""
    found = [_version(1, entries[0], (), is_now=len(entries) == 1)]
    for number, (before, after) in enumerate(pairwise(entries), start=2):
        changes = _changes(before, after)
        found.append(_version(number, after, changes, is_now=number == len(entries)))
    return found


def _changes(before: ApplicationRecord, after: ApplicationRecord) -> tuple[ChangeWords, ...]:
    if after.entry == EntryKind.VOID:
        return ()
    changes = changes_between(facts_of(before), facts_of(after))
    return words_of(changes, after.branch.time_zone)


def _version(
    number: int, entry: ApplicationRecord, changes: tuple[ChangeWords, ...], *, is_now: bool
) -> Version:
    kind = EntryKind(entry.entry)
    return Version(
        number=number,
        pk=entry.pk,
        word=ENTRY_WORDS[kind],
        is_now=is_now,
        is_void=kind is EntryKind.VOID,
        is_late=is_late(entry.applied_on, written_down_at(entry), entry.complete_by),
        at=said_at(entry),
        by=entry.created_by.full_name if entry.created_by else "",
        approved_by=entry.approved_by.full_name if entry.approved_by else "",
        is_one_person_firm=entry.is_one_person_firm,
        reason=entry.correction_reason,
        changes=changes,
        url=entry.get_absolute_url(),
    )


def request_rows(person: Person) -> list[RequestRow]:
    """What waits first, the oldest first, then what was decided, the last first."""
    rows = requests_for(person).filter(together_with=None)
    rows = rows.prefetch_related("others__record__branch")
    waiting = rows.filter(state=CorrectionRequest.State.ASKED).order_by("created_at", "pk")
    decided = rows.exclude(state=CorrectionRequest.State.ASKED).order_by("-decided_at", "-pk")
    return [request_row(person, one) for one in (*waiting, *decided[:MOST_LISTED])]


def request_row(person: Person, request: CorrectionRequest) -> RequestRow:
    """One request as a manager reads it."""
    return RequestRow(
        request=request,
        changes=words_of(changes_of(request), request.record.branch.time_zone),
        is_own=request.created_by_id == person.pk,
        is_late=is_late(request.record.applied_on, request.created_at, request.record.complete_by),
        others=tuple(request_row(person, one) for one in _others(request)),
    )


def _others(request: CorrectionRequest) -> Sequence[CorrectionRequest]:
    """What is decided together with the first of a tank; nothing hangs on the others."""
    return () if request.together_with_id else list(request.others.all())


def may_decide(person: Person) -> bool:
    """Whether somebody approves and declines requests."""
    return allows(person, Permission.DECIDE_CORRECTIONS)
