"""Copies of records that customers were given: to whom, when, how, and which are missing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from accounts.rules.day_words import clock, short_day
from accounts.rules.notices import Evidence, State, leaves_a_copy
from accounts.selectors.notices import NoticeRow, evidence_given, row_of
from treatments.models import ApplicationRecord, RecordCopy
from treatments.rules.copies import CopyDue, CopyRule, copy_due, overdue
from treatments.rules.state_box import BoxLine, Standing
from treatments.selectors.profiles import profiles_named

if TYPE_CHECKING:
    from accounts.models import Notice

COPY_NAME = "Copy given to whom, when, how"
Chains = dict[int, list[int]]


@dataclass(frozen=True)
class CopyLine:
    """One notice that carried copies of entries: which entries, and what is known of it."""

    row: NoticeRow
    entries: tuple[int, ...]

    @property
    def leaves_a_copy(self) -> bool:
        """Whether what is known says that the customer has it."""
        return leaves_a_copy(one.kind for one in self.row.notice.evidence.all())

    @property
    def is_under_way(self) -> bool:
        """Whether it waits for the mail server."""
        return self.row.notice.state in (State.WAITING, State.SENDING)


def copies_of(keys: Collection[int]) -> list[CopyLine]:
    """Every notice with a copy of one of these entries, the first one first; two queries."""
    rows = RecordCopy.objects.filter(record__in=keys).select_related("notice")
    rows = rows.defer("notice__attachment", "notice__body")
    evidence = Prefetch("notice__evidence", evidence_given())
    links = list(rows.prefetch_related(evidence).order_by("notice_id", "record_id"))
    notices: dict[int, Notice] = {one.notice_id: one.notice for one in links}
    entries: defaultdict[int, list[int]] = defaultdict(list)
    for one in links:
        entries[one.notice_id].append(one.record_id)
    return [CopyLine(row_of(notices[pk]), tuple(entries[pk])) for pk in notices]


def earlier_of(keys: Iterable[int]) -> Chains:
    """Each entry with all it follows, by its key; one query for each step back."""
    return _chains(keys, is_back=True)


def with_earlier(records: Iterable[ApplicationRecord]) -> set[int]:
    """The entries with all they follow; nothing is read where none follows another."""
    rows = list(records)
    follow = [one.corrects_id for one in rows if one.corrects_id]
    earlier = earlier_of(follow) if follow else {}
    return {one.pk for one in rows} | {key for chain in earlier.values() for key in chain}


def later_of(keys: Iterable[int]) -> Chains:
    """Each entry with all that follow it, by its key; one query for each step."""
    return _chains(keys, is_back=False)


def _chains(keys: Iterable[int], *, is_back: bool) -> Chains:
    chains = {key: [key] for key in keys}
    ends = {key: key for key in chains}
    while ends:
        step = _step(set(ends.values()), is_back=is_back)
        ends = {key: step[end] for key, end in ends.items() if end in step}
        for key, end in ends.items():
            chains[key].append(end)
    return chains


def _step(keys: Collection[int], *, is_back: bool) -> dict[int, int]:
    """From each entry the one before or after it, where there is one; they follow once."""
    if is_back:
        rows = ApplicationRecord.objects.filter(pk__in=keys, corrects__isnull=False)
        return {pk: before for pk, before in rows.values_list("pk", "corrects_id") if before}
    rows = ApplicationRecord.objects.filter(corrects__in=keys)
    return {before: pk for before, pk in rows.values_list("corrects_id", "pk") if before}


def known_of(keys: Collection[int]) -> dict[int, frozenset[str]]:
    """What is known of the copies of entries: `copy` where one was left, `shown` where shown."""
    rows = RecordCopy.objects.filter(record__in=keys)
    kinds: defaultdict[tuple[int, int], list[str]] = defaultdict(list)
    found = rows.order_by().values_list("record_id", "notice_id", "notice__evidence__kind")
    for record_id, notice_id, kind in found:
        kinds[record_id, notice_id].append(kind or "")
    known: defaultdict[int, set[str]] = defaultdict(set)
    for (record_id, _), said in kinds.items():
        if leaves_a_copy(said):
            known[record_id].add("copy")
        if Evidence.SHOWN in said:
            known[record_id].add("shown")
    return {record_id: frozenset(said) for record_id, said in known.items()}


def late_copies(records: Iterable[ApplicationRecord], today: date) -> dict[int, str]:
    """Check A15 over entries in force: the sentence of each copy not given in time, by its key.

    A copy of an earlier version counts: what a correction asks for is an item of its own.
    """
    dues = {pk: due for pk, due in dues_of(records).items() if today > due.last_day}
    if not dues:
        return {}
    chains = earlier_of(dues)
    known = known_of({entry for chain in chains.values() for entry in chain})
    said = {pk: _late(due, chains[pk], known, today) for pk, due in dues.items()}
    return {pk: sentence for pk, sentence in said.items() if sentence}


def _late(due: CopyDue, chain: list[int], known: Mapping[int, frozenset[str]], today: date) -> str:
    of_it = {said for entry in chain for said in known.get(entry, ())}
    return overdue(due, today, is_given="copy" in of_it, is_shown="shown" in of_it)


def dues_of(records: Iterable[ApplicationRecord]) -> dict[int, CopyDue]:
    """By when the customer gets a copy of each record, by its key; one query for all of them."""
    rows = list(records)
    rules = copy_rules(rows)
    dues = {
        one.pk: copy_due(rules[one.pk], one.applied_on, is_restricted=one.is_restricted_use)
        for one in rows
    }
    return {pk: due for pk, due in dues.items() if due is not None}


def copy_rules(records: Iterable[ApplicationRecord]) -> dict[int, tuple[CopyRule, ...]]:
    """What the versions that each record froze say of copies, by its key; one query."""
    rows = list(records)
    named = {one.name: one for one in profiles_named({n for r in rows for n in r.profile_codes})}
    return {
        row.pk: tuple(
            rule for name in row.profile_codes if name in named for rule in named[name].copies
        )
        for row in rows
    }


def copy_line(record: ApplicationRecord) -> BoxLine:
    """The copies of an entry and of what it followed as the state's box says them."""
    lines = copies_of(with_earlier([record]))
    zone = ZoneInfo(record.branch.time_zone)
    said = [_said(line, record.pk, zone) for line in lines]
    if any(line.leaves_a_copy for line in lines):
        return BoxLine(COPY_NAME, "\n".join(said), Standing.GIVEN)
    due = dues_of([record]).get(record.pk)
    if due is None:
        return BoxLine(COPY_NAME, "\n".join(said), Standing.NOT_ASKED)
    standing = Standing.MISSING if due.rule.is_verified else Standing.UNSURE
    return BoxLine(COPY_NAME, "\n".join(said), standing)


def _said(line: CopyLine, pk: int, zone: ZoneInfo) -> str:
    """Ann Example: handed over on paper, Nov 30, 2026, 2:14 PM, by Tom Example."""
    row = line.row
    known = [
        f"{one.words}, {short_day(at.date(), True)}, {clock(at)}"
        + (f", by {one.by}" if one.by else "")
        for one in row.known
        for at in [one.at.astimezone(zone)]
    ]
    words = f"{row.to}: {'; '.join(known) or row.state.lower()}"
    return words if pk in line.entries else f"{words} (an earlier version)"
