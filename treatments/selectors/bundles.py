"""Gathering an inspection bundle: records by scope, their leaves, and proofs to the last heads."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from accounts.selectors.people import branches_for
from treatments.models import (
    ApplicationRecord,
    LogEntry,
    LogFrontier,
    RecordPersonalValue,
    StockMove,
)
from treatments.rules.bundles import (
    Bundle,
    BundleHead,
    BundleLeaf,
    BundleLog,
    BundleRecord,
    BundleScope,
    with_standing,
    within_hours,
)
from treatments.rules.log_proofs import Tree
from treatments.rules.signed_heads import ROTATION_KIND, Head
from treatments.selectors.log import verify_chain
from treatments.selectors.log_heads import newest, signatures_of
from treatments.selectors.windows import in_portions

if TYPE_CHECKING:
    from accounts.models import Branch


@dataclass(frozen=True)
class Gathered:
    """The part of one branch."""

    log: BundleLog
    heads: list[BundleHead]
    leaves: list[BundleLeaf]
    records: list[BundleRecord]
    differences: list[str]


def bundle_of(scope: BundleScope, words: str, key: str, as_of: datetime, demo: bool) -> Bundle:
    """What the scope asks for, up to the last signed head of each log; the caller may export it.

    `key` is the fingerprint that signs now. What verification of the logs finds is told in it.
    """
    ids = record_keys(scope)
    begun = LogFrontier.objects.select_related("branch").order_by("branch_id")
    if scope.branch_id:
        begun = begun.filter(branch_id=scope.branch_id)
    parts = [part for row in begun if (part := _gathered(row.branch, scope, ids, key))]
    return Bundle(
        scope=scope,
        scope_words=words,
        as_of=as_of,
        firm=", ".join(part.log.branch_name for part in parts),
        logs=[part.log for part in parts],
        heads=[head for part in parts for head in part.heads],
        leaves=[leaf for part in parts for leaf in part.leaves],
        records=[record for part in parts for record in part.records],
        differences=[sentence for part in parts for sentence in part.differences],
        demo=demo,
    )


def record_keys(scope: BundleScope) -> set[int]:
    """The records asked for, with every entry that follows or is followed by one of them."""
    found = _asked_keys(scope)
    fresh = found
    while fresh:
        near: set[int] = set()
        for portion in in_portions(sorted(fresh)):
            near |= set(_followers(portion))
        fresh = near - found
        found |= fresh
    return found


def _followers(ids: Iterable[int]) -> Iterator[int]:
    linked = Q(corrects__in=ids) | Q(later_entries__in=ids)
    yield from ApplicationRecord.objects.filter(linked).values_list("pk", flat=True)


def _asked_keys(scope: BundleScope) -> set[int]:
    rows = _asked(scope).order_by()
    if scope.hours is None:
        return set(rows.values_list("pk", flat=True))
    timed = rows.values_list("pk", "started_at", "finished_at", "branch__time_zone")
    return {
        pk
        for pk, started, finished, zone in timed
        if within_hours(
            started.astimezone(ZoneInfo(zone)), finished.astimezone(ZoneInfo(zone)), scope.hours
        )
    }


def _asked(scope: BundleScope) -> QuerySet[ApplicationRecord]:
    given = {
        "branch_id": scope.branch_id,
        "applicator_id": scope.person_id,
        "property_id": scope.property_id,
    }
    rows = ApplicationRecord.objects.filter(applied_on__range=(scope.since, scope.until))
    rows = rows.filter(**{name: value for name, value in given.items() if value})
    if scope.property_ids is not None:
        rows = rows.filter(property_id__in=scope.property_ids)
    if scope.product:
        named = Q(product_name__iexact=scope.product)
        rows = rows.filter(named | Q(registration_number__iexact=scope.product))
    if scope.lot:
        moves = StockMove.objects.filter(lot__lot_number__iexact=scope.lot)
        rows = rows.filter(pk__in=moves.exclude(record=None).values("record"))
    return rows


def _gathered(branch: Branch, scope: BundleScope, ids: set[int], key: str) -> Gathered | None:
    signed = signatures_of(branch.pk)
    last = newest(signed.inside)
    if last is None:
        return None
    _, found, _ = verify_chain(branch.pk, key)
    hashes = LogEntry.objects.filter(branch=branch, seq__lt=last.size).order_by("seq")
    tree = Tree.of(hashes.values_list("leaf_hash", flat=True))
    entries = list(_entries(branch.pk, ids, last.size))
    return Gathered(
        log=BundleLog(branch.name, last),
        heads=[_head(head, tree) for head in _of_the_time(signed.inside, last, scope)],
        leaves=[_leaf(entry, tree) for entry in entries if entry.seq < tree.size],
        records=_records(entries),
        differences=[f"{branch.name}: {one.sentence}" for one in found],
    )


def _entries(branch_id: int, ids: set[int], size: int) -> Iterator[LogEntry]:
    """The leaves of the records and those that tell of a change of the key, in order."""
    rows = LogEntry.objects.filter(branch_id=branch_id, seq__lt=size)
    found = list(rows.filter(kind=ROTATION_KIND))
    for portion in in_portions(sorted(ids)):
        found += rows.filter(record__in=portion)
    yield from sorted(found, key=lambda entry: entry.seq)


def _of_the_time(heads: Iterable[Head], last: Head, scope: BundleScope) -> list[Head]:
    """The last head of each day since the day before the scope begins, and the last of all."""
    days: dict[str, Head] = {}
    before: list[Head] = []
    for head in heads:
        if head.at[:10] < scope.since.isoformat():
            before = [head]
        else:
            days[head.at[:10]] = head
    chosen = [*before, *days.values()]
    return [*(head for head in chosen if head != last), last]


def _head(head: Head, tree: Tree) -> BundleHead:
    fits = 0 < head.size <= tree.size
    return BundleHead(head, tree.consistency_proof(head.size) if fits else [])


def _leaf(entry: LogEntry, tree: Tree) -> BundleLeaf:
    proof = tree.inclusion_proof(entry.seq)
    return BundleLeaf(entry.branch_id, entry.seq, bytes(entry.leaf), proof)


def _records(entries: list[LogEntry]) -> list[BundleRecord]:
    own = [entry for entry in entries if entry.record_id is not None]
    personal = _personal([entry.record_id for entry in own if entry.record_id])
    return with_standing([_record(entry, personal[entry.record_id or 0]) for entry in own])


def _record(entry: LogEntry, personal: dict[str, dict[str, str]]) -> BundleRecord:
    try:
        said = json.loads(bytes(entry.leaf))["payload"]
    except (ValueError, KeyError, TypeError):
        said = {}  # the leaf goes along as it is and is found by whoever verifies
    return BundleRecord(entry.branch_id, entry.seq, entry.record_id or 0, said, personal)


def _personal(ids: list[int]) -> defaultdict[int, dict[str, dict[str, str]]]:
    found: defaultdict[int, dict[str, dict[str, str]]] = defaultdict(dict)
    for portion in in_portions(ids):
        for row in RecordPersonalValue.objects.filter(record__in=portion).order_by("field"):
            salt = bytes(row.salt).hex()
            found[row.record_id][row.field] = {"value": row.value, "salt": salt}
    return found


def branch_choices() -> list[tuple[int, str]]:
    """The branches a bundle can be narrowed to, by name."""
    return [(branch.pk, branch.name) for branch in branches_for(None)]
