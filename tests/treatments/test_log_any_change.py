"""Any sequence of leaves verifies, and any single bit that is changed is found at its place."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from treatments.models import LogEntry, SignedHead
from treatments.rules.applications import HistoricRow
from treatments.rules.log_tree import Frontier
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.history import record_history
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import rotate_key
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
IN_ONE_HOUSE = settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
TEXTS = (
    ("treatments_applicationrecord", "city"),
    ("treatments_applicationrecord", "product_amount"),
    ("treatments_applicationrecord", "client_digest"),
    ("treatments_treatedarea", "zone_name"),
    ("treatments_applicationjudgement", "sentence"),
    ("treatments_recordpersonalvalue", "value"),
    ("treatments_residualwindow", "pest_group"),
    ("treatments_logentry", "leaf_hash"),
    ("treatments_logentry", "kind"),
    ("treatments_signedhead", "root"),
    ("treatments_signedhead", "signature"),
    ("treatments_signedhead", "public_key"),
)
NUMBERS = (
    ("treatments_applicationrecord", "product_ul"),
    ("treatments_applicationrecord", "area_mm2"),
    ("treatments_treatedarea", "height_up_mm"),
    ("treatments_residualwindow", "days"),
    ("treatments_signedhead", "size"),
    ("treatments_logfrontier", "size"),
)
BYTES = (("treatments_logentry", "leaf"), ("treatments_recordpersonalvalue", "salt"))


@contextmanager
def undone() -> Iterator[None]:
    """What an example writes is taken back before the next one."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def _record(house: House, at: Any) -> None:
    times = {"started_at": at - timedelta(minutes=30), "finished_at": at - timedelta(minutes=10)}
    record_application(application=house.application(**times), by=house.technician, now=at)


def _note(house: House, at: Any) -> None:
    branch_id, payload = house.place.branch_id, {"version": 1, "note": "Ünïcode \u2028 💧"}
    append_leaf(branch_id=branch_id, kind="note", payload=payload, record=None, by=None, now=at)


def _history(house: House, at: Any) -> None:
    row = HistoricRow(house.band.pk, "A SC", "Pat", at.date() - timedelta(days=400), 90)
    record_history(
        branch_id=house.place.branch_id, file_name="firm.csv", file_sha256="0" * 64, rows=[row],
        by=None, now=at,
    )  # fmt: skip


def _sign(house: House, at: Any) -> None:
    sign_heads(now=at)


def _rotate(house: House, at: Any) -> None:
    sign_heads(now=at)
    rotate_key(now=at)


STEPS = (_record, _note, _history, _sign, _rotate)


@IN_ONE_HOUSE
@given(steps=st.lists(st.sampled_from(STEPS), min_size=1, max_size=8))
def test_any_sequence_verifies(house: House, log_files: Any, settings: Any, steps: Any) -> None:
    _fresh_folder(settings)
    with undone():
        for number, step in enumerate(steps):
            step(house, NOW - timedelta(days=20 - number))
        sign_heads(now=NOW)
        found = verify(house.place.branch_id, key=key_fingerprint(), now=NOW)
        assert found.differences == ()
        assert found.size == LogEntry.objects.count()


def _fresh_folder(settings: Any) -> None:
    """A new key and no head outside: an example that was taken back never was."""
    number = settings.LOG_HEADS_DIR.rpartition("-")[2]
    step = int(number) + 1 if number.isdecimal() else 1
    stem = (
        settings.LOG_HEADS_DIR.removesuffix(f"-{number}")
        if number.isdecimal()
        else (settings.LOG_HEADS_DIR)
    )
    settings.LOG_HEADS_DIR = f"{stem}-{step}"
    settings.LOG_KEY_FILE = f"{stem}-{step}-key.pem"


def _flip_text(text: str, bit: int) -> str:
    spot = bit // 5 % len(text)
    other = chr(ord(text[spot]) ^ (1 << bit % 5))  # stays printable, stays in its column
    return text[:spot] + other + text[spot + 1 :]


def _flip_bytes(text: bytes, bit: int) -> bytes:
    changed = bytearray(text)
    changed[bit // 8 % len(text)] ^= 1 << bit % 8
    return bytes(changed)


def _rows(table: str, column: str) -> list[tuple[int, Any]]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT id, {column} FROM {table} ORDER BY id")
        return [(pk, value) for pk, value in cursor.fetchall() if value not in (None, "", 0)]


def _write(table: str, column: str, pk: int, value: Any) -> None:
    behind_the_guards()
    with connection.cursor() as cursor:
        for guard_name in _triggers(table):
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {guard_name}{on}")
        cursor.execute(f"UPDATE {table} SET {column} = %s WHERE id = %s", [value, pk])


def _triggers(table: str) -> list[str]:
    return [f"{table}_keep_{act}" for act in ("update", "delete", "insert")]


@pytest.fixture
def signed(three: House, log_files: Any) -> House:
    _note(three, NOW)
    sign_heads(now=NOW)
    return three


@IN_ONE_HOUSE
@given(where=st.sampled_from((*TEXTS, *NUMBERS, *BYTES)), row=st.integers(0, 99),
       bit=st.integers(0, 20_000))  # fmt: skip
def test_any_bit_is_found(signed: House, where: tuple[str, str], row: int, bit: int) -> None:
    _find(signed, where, row, bit)


@pytest.mark.parametrize("where", (*TEXTS, *NUMBERS, *BYTES), ids=".".join)
def test_a_bit_of_every_kind_is_found(signed: House, where: tuple[str, str]) -> None:
    for row, bit in ((0, 0), (1, 7), (2, 1234)):
        _find(signed, where, row, bit)


def _find(house: House, where: tuple[str, str], row: int, bit: int) -> None:
    table, column = where
    rows = _rows(table, column)
    pk, value = rows[row % len(rows)]
    place = LogEntry.objects.filter(pk=pk).values_list("seq", flat=True).first()
    with undone():
        _write(table, column, pk, _flipped(where, value, bit))
        found = verify(house.place.branch_id, key=key_fingerprint(), now=NOW)
        assert not found.is_whole, where
        first = found.differences[0]
        assert first.sentence and first.to_do
        if table == "treatments_logentry":
            assert first.seq == place
        elif table not in ("treatments_signedhead", "treatments_logfrontier"):
            assert first.seq is not None and f"Leaf {first.seq} (record " in first.sentence


def _flipped(where: tuple[str, str], value: Any, bit: int) -> Any:
    if where in BYTES:
        return _flip_bytes(bytes(value), bit)
    if where in NUMBERS:
        return int(value) ^ (1 << bit % 8)
    return _flip_text(value, bit)


@IN_ONE_HOUSE
@given(size=st.integers(0, 3))
def test_a_tail_cut_at_any_place_is_found(signed: House, size: int) -> None:
    """Cut with everything inside that tells of it: the head outside still does."""
    hashes = LogEntry.objects.order_by("seq").values_list("leaf_hash", flat=True)[:size]
    frontier = Frontier()
    for text in hashes:
        frontier = frontier.append(bytes.fromhex(text))
    nodes = str(frontier.to_hex()).replace("'", '"')
    with undone():
        behind_the_guards(
            f"DELETE FROM treatments_logentry WHERE seq >= {size}",
            "DELETE FROM treatments_signedhead",
            f"UPDATE treatments_logfrontier SET size = {size}, nodes = '{nodes}'",
        )
        assert not SignedHead.objects.exists()
        found = verify(signed.place.branch_id, key=key_fingerprint(), now=NOW)
        outside = [one for one in found.differences if "on line 1 of heads" in one.sentence]
        assert outside[0].sentence.endswith(f"counts 4 leaves and {size} are here.")
        assert outside[0].seq == size
