"""Rows against leaves: what a record, load or closed period says now, and what its leaf says."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from itertools import islice
from typing import Any, TypeVar

from django.db import DatabaseError
from django.db.models import Count

from treatments.models import ApplicationRecord, LogEntry
from treatments.rules.leaves import LOAD, LOAD_REST, instant
from treatments.rules.log_walk import Difference
from treatments.selectors.incident_leaves import incident_difference
from treatments.selectors.load_payloads import key_of, payloads_by_leaf, without_leaf
from treatments.selectors.payloads import Payload, leaf_bytes, payloads_of
from treatments.selectors.period_leaves import period_difference
from treatments.selectors.purges import forgotten_values, with_forgotten

LEAVES_A_READING = 500
# whatever reading a malformed row can raise; it is a difference, never an error
UNREADABLE = (
    *(ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError),
    DatabaseError,
)
Key = TypeVar("Key")
Said = TypeVar("Said")
OF_LOADS = (LOAD, LOAD_REST)
CLOCK_BORNE = timedelta(minutes=5)  # house rule, as for the clock of a phone
RESTORE = (
    "The log holds what was recorded: keep a copy of the database as it is now, find out who could "
    "write past its guards, and put that row back as the log says."
)
CLOCK = (
    "The clock of the machine that wrote it was ahead. Set the clock by a time server; the leaf "
    "stays, and so does every time after it until the clock has caught up."
)


def row_differences(branch_id: int, now: datetime | None) -> Iterator[Difference]:
    """Where a leaf is not what its rows give now, its time cannot be, or a row has no leaf.

    With `now` a leaf dated later is found. A value that a purge forgot is borne.
    """
    last: datetime | None = None
    loads: set[tuple[str, int]] = set()
    for entry, payload in _leaves(branch_id):
        try:
            _compare_time(entry, last, now)
            _compare_content(entry, payload)
            _note_load(entry, loads)
        except Difference as found:
            yield found
        except UNREADABLE as failure:
            yield unreadable(f"Leaf {entry.seq}: it or {_named(entry)}", failure, entry.seq)
        last = entry.at
    yield from _rows_without_leaf(branch_id, loads)


def _rows_without_leaf(branch_id: int, loads: set[tuple[str, int]]) -> Iterator[Difference]:
    readings: tuple[tuple[str, Callable[[], str]], ...] = (
        ("A load", lambda: without_leaf(branch_id, loads)),
        ("A closed period", lambda: period_difference(branch_id)),
        ("An incident", lambda: incident_difference(branch_id)),
    )
    for what, read in readings:
        try:
            sentence = read()
        except UNREADABLE as failure:
            yield unreadable(what, failure)
            continue
        if sentence:
            yield Difference(sentence, to_do=RESTORE)


def unreadable(what: str, failure: BaseException, seq: int | None = None) -> Difference:
    """What a table gives back is nothing that was ever stored there."""
    said = " ".join(str(failure).split())[:120]
    sentence = f"{what} cannot be read from the table: {said or type(failure).__name__}."
    return Difference(sentence, to_do=RESTORE, seq=seq)


def _named(entry: LogEntry) -> str:
    return f"record {entry.record_id}" if entry.record_id else entry.kind


def _compare_time(entry: LogEntry, last: datetime | None, now: datetime | None) -> None:
    if last is not None and entry.at < last:
        raise Difference(f"Leaf {entry.seq}: its time is before the leaf before it.", seq=entry.seq)
    if now is not None and entry.at > now + CLOCK_BORNE:
        sentence = f"Leaf {entry.seq}: its time, {instant(entry.at)}, has not come yet."
        raise Difference(sentence, to_do=CLOCK, seq=entry.seq)


def _leaves(branch_id: int) -> Iterator[tuple[LogEntry, Payload | None]]:
    """Each leaf with what the rows of its record or load say now; None without one."""
    entries = LogEntry.objects.filter(branch_id=branch_id).order_by("seq")
    rest = entries.iterator(chunk_size=LEAVES_A_READING)
    forgotten = forgotten_values(branch_id)
    while portion := list(islice(rest, LEAVES_A_READING)):
        keys = [one.record_id for one in portion if one.record_id is not None]
        payloads = with_forgotten(_readable(payloads_of, keys), forgotten)
        loads = _load_payloads(portion)
        for entry in portion:
            yield entry, payloads.get(entry.record_id or 0) or loads.get(entry.seq)


def _readable(read: Callable[[list[Key]], dict[Key, Said]], keys: list[Key]) -> dict[Key, Said]:
    """What can be read of these rows; a row that cannot is left out, as one that is gone."""
    try:
        return read(keys)
    except UNREADABLE:
        if len(keys) <= 1:
            return {}
        half = len(keys) // 2
        return _readable(read, keys[:half]) | _readable(read, keys[half:])


def _load_payloads(portion: list[LogEntry]) -> dict[int, Payload]:
    """What the rows of the loads and rests in these leaves say now, by number of the leaf."""
    named = {entry.seq: _load_key(entry) for entry in portion if entry.kind in OF_LOADS}
    found = _readable(payloads_by_leaf, list(named.values()))
    return {seq: found[name] for seq, name in named.items() if name in found}


def _load_key(entry: LogEntry) -> tuple[str, int]:
    try:
        return entry.kind, key_of(entry.kind, _said(entry))
    except Difference:  # bytes that cannot be read are found where they are compared
        return entry.kind, 0


def _note_load(entry: LogEntry, loads: set[tuple[str, int]]) -> None:
    if entry.kind not in OF_LOADS:
        return
    name = _load_key(entry)
    if name in loads:
        sentence = f"Leaf {entry.seq}: {entry.kind} {name[1]} has a leaf already."
        raise Difference(sentence, seq=entry.seq)
    loads.add(name)


def _compare_content(entry: LogEntry, payload: Payload | None) -> None:
    """A leaf must be what its rows give now; one without rows must fit its own columns."""
    if entry.record_id is None and entry.kind not in OF_LOADS:
        said = _said(entry)
        actor_id, payload = said.get("actor"), said.get("payload") or {}
    elif payload is None:
        is_there = ApplicationRecord.objects.filter(pk=entry.record_id or 0).exists()
        why = "cannot be read from the table" if is_there else "is not in the table"
        raise Difference(f"Leaf {entry.seq}: {_thing(entry)} {why}.", seq=entry.seq)
    else:
        row = payload.get("record") or payload.get("load") or payload["rest"]
        actor_id = row["created_by_id"]
    again = _again(entry, actor_id, payload)
    if again != bytes(entry.leaf):
        sentence = _first_difference(entry, _said(entry), json.loads(again))
        raise Difference(sentence, to_do=RESTORE, seq=entry.seq)


def _thing(entry: LogEntry) -> str:
    if entry.record_id is not None:
        return f"record {entry.record_id}"
    return f"{entry.kind} {_load_key(entry)[1]}"


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
    except (ValueError, RecursionError) as failure:
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


def records_without_leaf(branch_id: int) -> Iterator[Difference]:
    """Every record that has not exactly one leaf."""
    counted = ApplicationRecord.objects.filter(branch_id=branch_id).annotate(
        number_of_leaves=Count("leaves")
    )
    for wrong in counted.exclude(number_of_leaves=1).order_by("pk"):
        number = wrong.number_of_leaves  # type: ignore[attr-defined]
        yield Difference(f"Record {wrong.pk} has {number} leaves in the log, not 1.")
