"""Verifying a branch's log: chain and tree, signed heads, and rows against leaves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import TYPE_CHECKING

from treatments.models import LogEntry, LogFrontier
from treatments.rules.log_tree import Frontier
from treatments.rules.log_walk import Chain, Difference, walk
from treatments.selectors.log_heads import (
    head_differences,
    newest,
    signatures_of,
    sizes_of,
    unvouched,
)
from treatments.selectors.log_leaves import records_without_leaf, row_differences

if TYPE_CHECKING:
    from accounts.models import Branch

HASHES_A_READING = 2000


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
    notes: tuple[str, ...] = ()

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
    found += _first_of(row_differences(branch.pk, now))
    found += _first_of(records_without_leaf(branch.pk))
    placed = sorted(found, key=lambda one: (one.seq is None, one.seq or 0))
    notes = unvouched(signatures_of(branch.pk))
    return Verification(
        branch.pk, branch.name, chain.size, chain.root, tuple(placed), signed, notes
    )


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


def _frontier_differences(branch_id: int, chain: Chain) -> Iterator[Difference]:
    kept = LogFrontier.objects.get(branch_id=branch_id)
    if kept.size != chain.size:
        yield Difference(f"The log counts {kept.size} leaves and {chain.size} are here.")
    elif kept.nodes != chain.frontier.to_hex():
        yield Difference("The kept end of the log does not fit its leaves.")
