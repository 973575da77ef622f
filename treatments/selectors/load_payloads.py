"""The content of the leaves of a load and of its rests, built from their rows.

As for records: a version names exactly the columns it covers; words of a rest that may name a
person or an address stand there only as salted digests.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from treatments.models import Load, LoadProduct, LoadRest
from treatments.rules.leaves import LOAD, LOAD_REST, decimal_text, instant, kept_digest

VERSION = 1
WITH_TWO_PRODUCTS = 2
Payload = dict[str, Any]
LOAD_COLUMNS = (
    "id",
    "client_ref",
    "client_digest",
    "branch_id",
    "technician_id",
    "equipment",
    "sprayer_id",
    "label_version_id",
    "lot_id",
    "product_amount",
    "product_unit",
    "product_ul",
    "product_mg",
    "finished_amount",
    "finished_unit",
    "finished_ul",
    "mixed_at",
    "visit_ref",
    "use_within_hours",
    "created_at",
    "created_by_id",
)
PRODUCT_COLUMNS = (
    "id",
    "load_id",
    "label_version_id",
    "lot_id",
    "product_amount",
    "product_unit",
    "product_ul",
    "product_mg",
    "created_at",
    "created_by_id",
)
REST_COLUMNS = (
    "id",
    "client_ref",
    "client_digest",
    "load_id",
    "kind",
    "amount",
    "unit",
    "ul",
    "difference_ul",
    "at",
    "visit_ref",
    "created_at",
    "created_by_id",
)
REST_WORDS = ("disposed_how", "disposed_where", "reason")


def load_payloads(load_ids: Collection[int]) -> dict[int, Payload]:
    """What the leaf of each load says, read from its rows; one that is not there is left out.

    A load of one product has version 1, as loads had before; of two, version 2 with both.
    """
    rows = _rows(Load.objects.filter(pk__in=load_ids), LOAD_COLUMNS)
    also: dict[int, list[Payload]] = {}
    others = _rows(LoadProduct.objects.filter(load__in=load_ids), PRODUCT_COLUMNS)
    for other in others.values():
        also.setdefault(int(str(other["load_id"])), []).append(other)
    return {key: _load_payload(row, also.get(key, [])) for key, row in rows.items()}


def _load_payload(row: Payload, also: list[Payload]) -> Payload:
    if not also:
        return {"version": VERSION, "load": row}
    return {"version": WITH_TWO_PRODUCTS, "load": row, "also": also}


def rest_payloads(rest_ids: Collection[int]) -> dict[int, Payload]:
    """What the leaf of each rest says, read from its row; one that is not there is left out."""
    rests = LoadRest.objects.filter(pk__in=rest_ids)
    rows = _rows(rests, REST_COLUMNS)
    return {
        rest.pk: {"version": VERSION, "rest": rows[rest.pk], "words": _digests(rest)}
        for rest in rests
    }


def _digests(rest: LoadRest) -> dict[str, str]:
    words = {name: getattr(rest, name) for name in REST_WORDS}
    salt = bytes(rest.salt)
    return {name: kept_digest(name, text, salt) for name, text in words.items() if text and salt}


def _rows(rows: QuerySet[Any], names: tuple[str, ...]) -> dict[int, Payload]:
    return {
        values[0]: dict(zip(names, map(_text, values), strict=True))
        for values in rows.order_by("pk").values_list(*names)
    }


def _text(value: Any) -> object:
    if isinstance(value, datetime):
        return instant(value)
    if isinstance(value, Decimal):
        return decimal_text(value)
    return str(value) if isinstance(value, UUID) else value


def key_of(kind: str, said: Mapping[str, Any]) -> int:
    """The key of the load or rest that a leaf of that kind names; 0 when it names none."""
    part = (said.get("payload") or {}).get("load" if kind == LOAD else "rest") or {}
    key = part.get("id")
    return key if isinstance(key, int) else 0


def payloads_by_leaf(named: Iterable[tuple[str, int]]) -> dict[tuple[str, int], Payload]:
    """What the rows say now, by kind of leaf and key; at most four queries."""
    keys: dict[str, set[int]] = {LOAD: set(), LOAD_REST: set()}
    for kind, key in named:
        keys[kind].add(key)
    loads = load_payloads(keys[LOAD]) if keys[LOAD] else {}
    rests = rest_payloads(keys[LOAD_REST]) if keys[LOAD_REST] else {}
    found = {(LOAD, key): payload for key, payload in loads.items()}
    return found | {(LOAD_REST, key): payload for key, payload in rests.items()}


def without_leaf(branch_id: int, leaves: Collection[tuple[str, int]]) -> str:
    """The first load or rest of a branch that should have a leaf and has none, in a sentence.

    Loads have leaves since the first one in the log, older ones need none; a rest needs one when
    its load has one, or when it came after the first rest in the log.
    """
    logged = {key for kind, key in leaves if kind == LOAD}
    rests = {key for kind, key in leaves if kind == LOAD_REST}
    loads = Load.objects.filter(branch_id=branch_id).order_by("pk")
    if logged:
        later = loads.filter(pk__gte=min(logged)).values_list("pk", flat=True)
        missing = next((key for key in later if key not in logged), None)
        if missing is not None:
            return f"Load {missing} has no leaf in the log."
    said = LoadRest.objects.filter(load__branch_id=branch_id).order_by("pk")
    first = min(rests, default=None)
    for key, load_id in said.values_list("pk", "load_id"):
        is_later = load_id in logged or (first is not None and key >= first)
        if is_later and key not in rests:
            return f"Rest {key} of load {load_id} has no leaf in the log."
    return ""
