"""One record by plain SQL: its rows, its leaf, the end of the log, its windows, commit."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any
from uuid import uuid4

from django.db import connection, transaction

RECORD = "treatments_applicationrecord"
AREAS, WINDOWS = "treatments_treatedarea", "treatments_residualwindow"
OF_A_THING = ("accounts_auditevent", "accounts_openitem")  # what the audit finds is an item
OF_A_RECORD = (
    "treatments_recordpersonalvalue",
    "treatments_applicationjudgement",
    "treatments_safetyanswer",
    "treatments_stockmove",
)
_WINDOWS = "treated_area_id IN (SELECT id FROM treatments_treatedarea WHERE record_id = %s)"
_PROTECT = """
UPDATE treatments_zoneprotection SET window_id = w.id, expires_on = w.expires_on
FROM treatments_residualwindow w JOIN treatments_treatedarea a ON a.id = w.treated_area_id
WHERE a.record_id = %s AND treatments_zoneprotection.zone_id = w.zone_id
  AND treatments_zoneprotection.pest_group = w.pest_group
"""
_FRONTIER = "SELECT size, nodes FROM treatments_logfrontier WHERE branch_id = %s"
_LEAF = """
INSERT INTO treatments_logentry (branch_id, seq, kind, record_id, at, leaf, leaf_hash)
VALUES (%s, %s, 'record', %s, %s, %s, %s)
"""
_MOVE_ON = "UPDATE treatments_logfrontier SET size = %s, nodes = %s WHERE branch_id = %s"

Values = dict[str, Any]


@dataclass(frozen=True)
class Template:
    """The rows that one real record left, by table, and its leaf."""

    branch_id: int
    rows: dict[str, list[Values]] = field(repr=False)
    leaf: Values = field(repr=False)
    at: Any


def template(record_id: int) -> Template:
    """Read what a record left in every table."""
    rows = {RECORD: _read(RECORD, "id = %s", record_id)}
    rows |= {table: _read(table, "record_id = %s", record_id) for table in (AREAS, *OF_A_RECORD)}
    rows[WINDOWS] = _read(WINDOWS, _WINDOWS, record_id)
    thing = f"treatments.applicationrecord:{record_id}"
    rows |= {table: _read(table, "thing = %s", thing) for table in OF_A_THING}
    (leaf,) = _read("treatments_logentry", "record_id = %s", record_id)
    said = json.loads(bytes(leaf["leaf"]))
    return Template(rows[RECORD][0]["branch_id"], rows, said, leaf["at"])


def floor(one: Template) -> None:
    """Write the same rows once more as a record of its own, in one transaction."""
    with transaction.atomic(), connection.cursor() as cursor:
        ((record_id,),) = _insert(cursor, RECORD, one.rows[RECORD], client_ref=uuid4().hex)
        new = dict(_insert(cursor, AREAS, one.rows[AREAS], "zone_id, id", record_id=record_id))
        for table in OF_A_RECORD:
            _insert(cursor, table, one.rows[table], record_id=record_id)
        windows = [row | {"treated_area_id": new[row["zone_id"]]} for row in one.rows[WINDOWS]]
        _insert(cursor, WINDOWS, windows)
        cursor.execute(_PROTECT, [record_id])
        thing = f"treatments.applicationrecord:{record_id}"
        for table in OF_A_THING:
            _insert(cursor, table, one.rows[table], thing=thing)
        _append(cursor, one, record_id)


def _append(cursor: Any, one: Template, record_id: int) -> None:
    lock = " FOR UPDATE" if connection.vendor == "postgresql" else ""
    cursor.execute(_FRONTIER + lock, [one.branch_id])
    size, kept = cursor.fetchone()
    said = one.leaf | {"seq": size, "record_id": record_id}
    leaf = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    hashed = sha256(b"\x00" + leaf).digest()
    cursor.execute(_LEAF, [one.branch_id, size, record_id, one.at, leaf, hashed.hex()])
    nodes = json.dumps(_grown(size, json.loads(kept), hashed))
    cursor.execute(_MOVE_ON, [size + 1, nodes, one.branch_id])


def _grown(size: int, nodes: list[str], node: bytes) -> list[str]:
    while size & 1:
        node = sha256(b"\x01" + bytes.fromhex(nodes.pop()) + node).digest()
        size >>= 1
    return [*nodes, node.hex()]


def _read(table: str, where: str, value: object) -> list[Values]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} WHERE {where}", [value])
        names = [column[0] for column in cursor.description]
        rows = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
    return [{name: value for name, value in row.items() if name != "id"} for row in rows]


def _insert(
    cursor: Any, table: str, rows: Sequence[Values], back: str = "id", **new: Any
) -> list[tuple[Any, ...]]:
    if not rows:
        return []
    names = list(rows[0])
    marks = f"({', '.join(['%s'] * len(names))})"
    cursor.execute(
        f"INSERT INTO {table} ({', '.join(names)}) VALUES {', '.join([marks] * len(rows))} "
        f"RETURNING {back}",
        [(row | new)[name] for row in rows for name in names],
    )
    return list(cursor.fetchall())
