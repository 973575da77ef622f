"""Verifying a branch's log: chain and tree, signed heads, and rows against leaves."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from typing import TYPE_CHECKING, Any

from django.db.models import Count

from treatments.models import ApplicationRecord, LogEntry, LogFrontier
from treatments.rules.leaves import instant
from treatments.rules.log_tree import Frontier
from treatments.rules.log_walk import Chain, Difference, walk
from treatments.selectors.log_heads import head_differences, newest, signatures_of, sizes_of
from treatments.selectors.payloads import Payload, leaf_bytes, payloads_of

if TYPE_CHECKING:
    from accounts.models import Branch

LEAVES_A_READING = 500
HASHES_A_READING = 2000
CLOCK_BORNE = timedelta(minutes=5)  # house rule, as for the clock of a phone
RESTORE = (
    "The log holds what was recorded: keep a copy of the database as it is now, find out who could "
    "write past its guards, and put that row back as the log says."
)
CLOCK = (
    "The clock of the machine that wrote it was ahead. Set the clock by a time server; the leaf "
    "stays, and so does every time after it until the clock has caught up."
)


@dataclass(frozen=True)
class LogHead:
    """How far a branch's log has grown, and the last head that was signed of it."""

    branch_id: int
    branch_name: str
    size: int
    root: str
    signed_size: int | None = None
    signed_at: datetime | None = None
    key: str = ""


@dataclass(frozen=True)
class Verification:
    """The answer for one branch; what was found stands first where it names its leaf."""

    branch_id: int
    branch_name: str
    size: int
    root: str
    differences: tuple[Difference, ...] = ()
    heads: int = 0

    @property
    def difference(self) -> str:
        """The first thing found, in a sentence; empty when the log is whole."""
        return self.differences[0].sentence if self.differences else ""

    @property
    def is_whole(self) -> bool:
        return not self.differences


def heads() -> list[LogHead]:
    """Size, root and last signed head of every log that was begun, by branch name."""
    return [_log_head(row) for row in _begun()]


def _begun() -> list[LogFrontier]:
    return list(LogFrontier.objects.select_related("branch").order_by("branch__name"))


def _log_head(row: LogFrontier) -> LogHead:
    signed = signatures_of(row.branch_id).inside
    last = newest(signed)
    return LogHead(
        row.branch_id,
        row.branch.name,
        row.size,
        _root(row.size, row.nodes),
        last.size if last else None,
        datetime.fromisoformat(last.at) if last else None,
        last.key if last else "",
    )


def _root(size: int, nodes: list[str]) -> str:
    try:
        return Frontier.from_hex(size, nodes).root.hex()
    except ValueError:
        return "not readable"


def verify_all(
    branch_name: str = "", *, key: str = "", now: datetime | None = None
) -> list[Verification]:
    """Verify every branch that has a log (or the one of that name), by name.

    `key` is the fingerprint that must sign now; with `now` a leaf dated later is found.
    """
    name = branch_name.casefold()
    rows = [row for row in _begun() if name in ("", row.branch.name.casefold())]
    return [_verify(row.branch, key, now) for row in rows]


def verify(branch_id: int, *, key: str = "", now: datetime | None = None) -> Verification:
    """Verify one branch's log; a branch that has none yet is whole and empty."""
    row = LogFrontier.objects.select_related("branch").filter(branch_id=branch_id).first()
    if row is None:
        return Verification(branch_id, "", 0, Frontier().root.hex())
    return _verify(row.branch, key, now)


def _verify(branch: Branch, key: str, now: datetime | None) -> Verification:
    chain, found, signed = verify_chain(branch.pk, key)
    found += _first_of(_row_differences(branch.pk, now))
    found += _first_of(_records_without_leaf(branch.pk))
    placed = sorted(found, key=lambda one: (one.seq is None, one.seq or 0))
    return Verification(branch.pk, branch.name, chain.size, chain.root, tuple(placed), signed)


def verify_chain(branch_id: int, key: str = "") -> tuple[Chain, list[Difference], int]:
    """Verify bytes, hashes, tree, kept end and signed heads, without reading any record.

    The walk, what was found, and how many heads were looked at.
    """
    signed = signatures_of(branch_id)
    chain = walk(_hashed(branch_id), sizes_of(signed))
    found = [chain.difference] if chain.difference else []
    found += head_differences(branch_id, signed, chain, key)
    if chain.difference is None:
        found += _first_of(_frontier_differences(branch_id, chain))
    return chain, found, len({head.signature for head in signed.heads})


def _hashed(branch_id: int) -> Iterator[tuple[int, bytes | memoryview, str]]:
    rows = LogEntry.objects.filter(branch_id=branch_id).order_by("seq")
    return rows.values_list("seq", "leaf", "leaf_hash").iterator(chunk_size=HASHES_A_READING)


def _first_of(found: Iterator[Difference]) -> list[Difference]:
    return list(islice(found, 1))


def _row_differences(branch_id: int, now: datetime | None) -> Iterator[Difference]:
    """Where a leaf is not what its rows give now, or its time cannot be."""
    last: datetime | None = None
    for entry, payload in _leaves(branch_id):
        try:
            _compare_time(entry, last, now)
            _compare_content(entry, _as_kept(entry, payload, now))
        except Difference as found:
            yield found
        last = entry.at


def _compare_time(entry: LogEntry, last: datetime | None, now: datetime | None) -> None:
    if last is not None and entry.at < last:
        raise Difference(f"Leaf {entry.seq}: its time is before the leaf before it.", seq=entry.seq)
    if now is not None and entry.at > now + CLOCK_BORNE:
        sentence = f"Leaf {entry.seq}: its time, {instant(entry.at)}, has not come yet."
        raise Difference(sentence, to_do=CLOCK, seq=entry.seq)


def _leaves(branch_id: int) -> Iterator[tuple[LogEntry, Payload | None]]:
    """Each leaf with what the rows of its record say now; None without a record."""
    entries = LogEntry.objects.filter(branch_id=branch_id).order_by("seq")
    rest = entries.iterator(chunk_size=LEAVES_A_READING)
    while portion := list(islice(rest, LEAVES_A_READING)):
        payloads = payloads_of([one.record_id for one in portion if one.record_id is not None])
        for entry in portion:
            yield entry, payloads.get(entry.record_id or 0)


def _as_kept(entry: LogEntry, payload: Payload | None, now: datetime | None) -> Payload | None:
    """The rows; past its retention a record may have forgotten personal values."""
    if payload is None or now is None:
        return payload
    if payload["record"]["retain_until"] >= now.date().isoformat():
        return payload
    said = _said(entry).get("payload")
    digests = said.get("personal") if isinstance(said, dict) else None
    forgotten = digests if isinstance(digests, dict) else {}
    return {**payload, "personal": {**forgotten, **payload["personal"]}}


def _compare_content(entry: LogEntry, payload: Payload | None) -> None:
    """A record's leaf must be what its rows give now; any other leaf must fit its own columns."""
    if entry.record_id is None:
        said = _said(entry)
        actor_id, payload = said.get("actor"), said.get("payload") or {}
    elif payload is None:
        raise Difference(
            f"Leaf {entry.seq}: record {entry.record_id} is not in the table.", seq=entry.seq
        )
    else:
        actor_id = payload["record"]["created_by_id"]
    again = _again(entry, actor_id, payload)
    if again != bytes(entry.leaf):
        sentence = _first_difference(entry, _said(entry), json.loads(again))
        raise Difference(sentence, to_do=RESTORE, seq=entry.seq)


def _again(entry: LogEntry, actor_id: int | None, payload: Payload) -> bytes:
    try:
        return leaf_bytes(
            seq=entry.seq,
            kind=entry.kind,
            record_id=entry.record_id,
            actor_id=actor_id,
            at=entry.at,
            payload=payload,
        )
    except (TypeError, ValueError) as failure:
        sentence = f"Leaf {entry.seq}: what it says is no leaf: {failure}."
        raise Difference(sentence, seq=entry.seq) from failure


def _said(entry: LogEntry) -> dict[str, Any]:
    try:
        said = json.loads(bytes(entry.leaf))
    except ValueError as failure:
        sentence = f"Leaf {entry.seq}: its bytes cannot be read."
        raise Difference(sentence, seq=entry.seq) from failure
    return said if isinstance(said, dict) else {}


def _first_difference(entry: LogEntry, said: dict[str, Any], again: dict[str, Any]) -> str:
    where = f"Leaf {entry.seq}" + (f" (record {entry.record_id})" if entry.record_id else "")
    for path in sorted({*_paths(said), *_paths(again)}):
        in_log, in_rows = _paths(said).get(path), _paths(again).get(path)
        if in_log != in_rows:
            return f"{where}: {path} is {in_rows!r} in the table and {in_log!r} in the log."
    return f"{where}: the bytes of the leaf are not in canonical form."


def _paths(value: object, path: str = "") -> dict[str, object]:
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = [(str(place), item) for place, item in enumerate(value)]
    else:
        return {path: value}
    found: dict[str, object] = {} if items else {path: value}
    for key, item in items:
        found |= _paths(item, f"{path}.{key}".lstrip("."))
    return found


def _frontier_differences(branch_id: int, chain: Chain) -> Iterator[Difference]:
    kept = LogFrontier.objects.get(branch_id=branch_id)
    if kept.size != chain.size:
        yield Difference(f"The log counts {kept.size} leaves and {chain.size} are here.")
    elif kept.nodes != chain.frontier.to_hex():
        yield Difference("The kept end of the log does not fit its leaves.")


def _records_without_leaf(branch_id: int) -> Iterator[Difference]:
    counted = ApplicationRecord.objects.filter(branch_id=branch_id).annotate(
        number_of_leaves=Count("leaves")
    )
    for wrong in counted.exclude(number_of_leaves=1).order_by("pk"):
        yield Difference(
            f"Record {wrong.pk} has {wrong.number_of_leaves} leaves in the log, not 1."
        )
