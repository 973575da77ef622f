"""Verifying a long log: chain, tree and signed head beside a bare read-and-hash loop."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from time import perf_counter

from django.db import connection
from django.utils import timezone

from accounts.models import Branch
from tests.bench.check_mix import field
from tests.bench.floors.verify_log import floor
from tests.bench.timing import Compared, compare
from tests.factories import make_branch
from treatments.models import ApplicationRecord, LogEntry, LogFrontier
from treatments.rules.log_tree import leaf_hash
from treatments.rules.log_walk import walk
from treatments.selectors.log import verify, verify_chain
from treatments.selectors.payloads import leaf_bytes, payloads_of
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads

MILLION = 1_000_000
AT_ONCE = 10_000
RECORDS = 400
NOW = timezone.now() - timedelta(days=1)


def long_log(size: int) -> Branch:
    """A branch with a log of short leaves (the hard case: less to hash for each row) and a head."""
    branch = make_branch("A long log")
    for first in range(0, size, AT_ONCE):
        LogEntry.objects.bulk_create(
            (_entry(branch, seq) for seq in range(first, min(first + AT_ONCE, size))),
            batch_size=500,
        )
    rows = LogEntry.objects.filter(branch=branch).order_by("seq")
    chain = walk(rows.values_list("seq", "leaf", "leaf_hash").iterator())
    nodes = chain.frontier.to_hex()
    LogFrontier.objects.create(branch=branch, size=size, nodes=nodes, last_at=NOW)
    sign_heads(now=timezone.now())
    return branch


def _entry(branch: Branch, seq: int) -> LogEntry:
    payload = {"version": 1, "note": f"leaf number {seq} of a long log, to be hashed"}
    leaf = leaf_bytes(seq=seq, kind="note", record_id=None, actor_id=None, at=NOW, payload=payload)
    digest = leaf_hash(leaf).hex()
    return LogEntry(branch=branch, seq=seq, kind="note", at=NOW, leaf=leaf, leaf_hash=digest)


def checked(branch_id: int) -> tuple[int, str]:
    """Our verification of bytes, hashes, order, tree, kept end and signed heads."""
    chain, found, heads = verify_chain(branch_id)
    assert not found and heads
    return chain.size, chain.root


def recorded(count: int) -> Branch:
    """A branch with records and their leaves, for rows against leaves."""
    house = field(zones=3, directions=1, years=count // 4)
    for pk, payload in payloads_of(list(_pks(house.place.branch_id))).items():
        append_leaf(
            branch_id=house.place.branch_id, kind="record", payload=payload,
            record=ApplicationRecord.objects.get(pk=pk), by=None, now=NOW,
        )  # fmt: skip
    return house.place.branch


def _pks(branch_id: int) -> Iterator[int]:
    rows = ApplicationRecord.objects.filter(branch_id=branch_id).order_by("pk")
    yield from rows.values_list("pk", flat=True)


def run(*, times: int, size: int = MILLION) -> Iterator[Compared | str]:
    """Compare, then say what the rows against the leaves take, which has no bare loop."""
    branch = long_log(size)
    with connection.cursor() as cursor:
        cursor.execute("SELECT avg(length(leaf)) FROM treatments_logentry")
        yield f"{size} leaves of {int(cursor.fetchone()[0])} bytes"
    words = f"chain, tree, heads of {size} leaves"
    yield compare(words, lambda: checked(branch.pk), lambda: floor(branch.pk), times=1)
    begun = perf_counter()
    assert verify(branch.pk).is_whole
    yield f"with every leaf against its own row as well: {perf_counter() - begun:.1f} s"
    yield _rows_against_leaves()


def _rows_against_leaves() -> str:
    house = recorded(RECORDS)
    begun = perf_counter()
    found = verify(house.pk)
    took = 1e6 * (perf_counter() - begun) / found.size
    return f"rows of {found.size} records against their leaves: {took:.0f} microseconds a record"
