"""Verifying a branch's log: every leaf again from its rows, every hash again from its bytes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import TYPE_CHECKING, Any

from django.db.models import Count

from treatments.models import ApplicationRecord, LogEntry, LogFrontier, SignedHead
from treatments.rules.leaves import LOAD, LOAD_REST, instant
from treatments.rules.log_tree import Frontier, leaf_hash
from treatments.selectors.incident_leaves import incident_difference
from treatments.selectors.load_payloads import key_of, payloads_by_leaf, without_leaf
from treatments.selectors.payloads import Payload, leaf_bytes, payloads_of
from treatments.selectors.purges import forgotten_values, with_forgotten

if TYPE_CHECKING:
    from accounts.models import Branch

LEAVES_A_READING = 500
OF_LOADS = (LOAD, LOAD_REST)


@dataclass(frozen=True)
class Head:
    """How far a branch's log has grown: number of leaves, root in hex."""

    branch_id: int
    branch_name: str
    size: int
    root: str


@dataclass(frozen=True)
class Verification:
    """The answer for one branch; `difference` is the first one found, in a sentence."""

    branch_id: int
    branch_name: str
    size: int
    root: str
    difference: str = ""

    @property
    def is_whole(self) -> bool:
        return not self.difference


@dataclass
class Walk:
    """The tree so far while the leaves are walked, and the heads it must pass through."""

    heads: dict[int, list[SignedHead]]
    frontier: Frontier = field(default_factory=Frontier)
    loads: set[tuple[str, int]] = field(default_factory=set)


class Difference(Exception):
    """The first place where log and rows part, as a sentence."""


def heads() -> list[Head]:
    """Size and root of every log that was begun, by branch name."""
    rows = LogFrontier.objects.select_related("branch").order_by("branch__name")
    return [
        Head(row.branch_id, row.branch.name, row.size, _root(row.size, row.nodes)) for row in rows
    ]


def _root(size: int, nodes: list[str]) -> str:
    try:
        return Frontier.from_hex(size, nodes).root.hex()
    except ValueError:
        return "not readable"


def verify_all(branch_name: str = "") -> list[Verification]:
    """Verify every branch that has a log (or the one of that name), by name."""
    rows = LogFrontier.objects.select_related("branch").order_by("branch__name")
    if branch_name:
        rows = rows.filter(branch__name__iexact=branch_name)
    return [_verify(row.branch) for row in rows]


def verify(branch_id: int) -> Verification:
    """Verify one branch's log; a branch that has none yet is whole and empty."""
    row = LogFrontier.objects.select_related("branch").filter(branch_id=branch_id).first()
    if row is None:
        return Verification(branch_id, "", 0, Frontier().root.hex())
    return _verify(row.branch)


def _verify(branch: Branch) -> Verification:
    walk = Walk(_signed_heads(branch.pk))
    difference = ""
    try:
        _walk_leaves(branch.pk, walk)
        _compare_frontier(branch.pk, walk.frontier)
        _find_records_without_leaf(branch.pk)
        _find_loads_without_leaf(branch.pk, walk)
        _compare_incidents(branch.pk)
    except Difference as found:
        difference = str(found)
    size, root = walk.frontier.size, walk.frontier.root.hex()
    return Verification(branch.pk, branch.name, size, root, difference)


def _signed_heads(branch_id: int) -> dict[int, list[SignedHead]]:
    found: dict[int, list[SignedHead]] = {}
    for head in SignedHead.objects.filter(branch_id=branch_id):
        found.setdefault(head.size, []).append(head)
    return found


def _walk_leaves(branch_id: int, walk: Walk) -> None:
    _compare_heads(walk)
    for entry, payload in _leaves(branch_id):
        if entry.seq != walk.frontier.size:
            raise Difference(f"Leaf {walk.frontier.size} is missing: the next one is {entry.seq}.")
        _compare_hash(entry)
        _compare_content(entry, payload)
        _note_load(entry, walk)
        walk.frontier = walk.frontier.append(bytes.fromhex(entry.leaf_hash))
        _compare_heads(walk)
    beyond = [size for size in walk.heads if size > walk.frontier.size]
    if beyond:
        raise Difference(
            f"A signed head counts {max(beyond)} leaves and {walk.frontier.size} are here."
        )


def _leaves(branch_id: int) -> Iterator[tuple[LogEntry, Payload | None]]:
    """Each leaf with what the rows of its record say now; None without a record."""
    entries = LogEntry.objects.filter(branch_id=branch_id).order_by("seq")
    rest = entries.iterator(chunk_size=LEAVES_A_READING)
    forgotten = forgotten_values(branch_id)
    while portion := list(islice(rest, LEAVES_A_READING)):
        payloads = payloads_of([one.record_id for one in portion if one.record_id is not None])
        payloads = with_forgotten(payloads, forgotten)
        loads = _load_payloads(portion)
        for entry in portion:
            yield entry, payloads.get(entry.record_id or 0) or loads.get(entry.seq)


def _load_payloads(portion: list[LogEntry]) -> dict[int, Payload]:
    """What the rows of the loads and rests in these leaves say now, by number of the leaf."""
    named = {entry.seq: _load_key(entry) for entry in portion if entry.kind in OF_LOADS}
    found = payloads_by_leaf(named.values())
    return {seq: found[name] for seq, name in named.items() if name in found}


def _load_key(entry: LogEntry) -> tuple[str, int]:
    return entry.kind, key_of(entry.kind, _said(entry))


def _note_load(entry: LogEntry, walk: Walk) -> None:
    if entry.kind not in OF_LOADS:
        return
    name = _load_key(entry)
    if name in walk.loads:
        raise Difference(f"Leaf {entry.seq}: {entry.kind} {name[1]} has a leaf already.")
    walk.loads.add(name)


def _compare_hash(entry: LogEntry) -> None:
    if leaf_hash(bytes(entry.leaf)).hex() != entry.leaf_hash:
        raise Difference(f"Leaf {entry.seq}: its bytes do not give its hash.")


def _compare_content(entry: LogEntry, payload: Payload | None) -> None:
    """A record's leaf must be what its rows give now; any other leaf must fit its own columns."""
    if entry.kind in OF_LOADS:
        if payload is None:
            raise Difference(f"Leaf {entry.seq}: {entry.kind} {_load_key(entry)[1]} is not there.")
        actor_id = (payload.get("load") or payload["rest"])["created_by_id"]
    elif entry.record_id is None:
        said = _said(entry)
        actor_id, payload = said.get("actor"), said.get("payload") or {}
    elif payload is None:
        raise Difference(f"Leaf {entry.seq}: record {entry.record_id} is not in the table.")
    else:
        actor_id = payload["record"]["created_by_id"]
    again = leaf_bytes(
        seq=entry.seq,
        kind=entry.kind,
        record_id=entry.record_id,
        actor_id=actor_id,
        at=entry.at,
        payload=payload,
    )
    if again != bytes(entry.leaf):
        raise Difference(_first_difference(entry, _said(entry), json.loads(again)))


def _said(entry: LogEntry) -> dict[str, Any]:
    try:
        said = json.loads(bytes(entry.leaf))
    except ValueError as failure:
        raise Difference(f"Leaf {entry.seq}: its bytes cannot be read.") from failure
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


def _compare_heads(walk: Walk) -> None:
    for head in walk.heads.get(walk.frontier.size, ()):
        if head.root != walk.frontier.root.hex():
            raise Difference(
                f"The signed head of {instant(head.at)} over {head.size} leaves has another root: "
                "leaves before it were changed."
            )


def _compare_frontier(branch_id: int, recomputed: Frontier) -> None:
    kept = LogFrontier.objects.get(branch_id=branch_id)
    if kept.size != recomputed.size:
        raise Difference(f"The log counts {kept.size} leaves and {recomputed.size} are here.")
    if kept.nodes != recomputed.to_hex():
        raise Difference("The kept end of the log does not fit its leaves.")


def _find_records_without_leaf(branch_id: int) -> None:
    counted = ApplicationRecord.objects.filter(branch_id=branch_id).annotate(
        number_of_leaves=Count("leaves")
    )
    wrong = counted.exclude(number_of_leaves=1).order_by("pk").first()
    if wrong is not None:
        raise Difference(
            f"Record {wrong.pk} has {wrong.number_of_leaves} leaves in the log, not 1."
        )


def _find_loads_without_leaf(branch_id: int, walk: Walk) -> None:
    missing = without_leaf(branch_id, walk.loads)
    if missing:
        raise Difference(missing)


def _compare_incidents(branch_id: int) -> None:
    found = incident_difference(branch_id)
    if found:
        raise Difference(found)
