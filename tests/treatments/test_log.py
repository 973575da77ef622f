"""The log: one leaf a record, no gap, and every change behind the guards is found."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from tests.factories import make_record
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from treatments.models import (
    ApplicationRecord,
    LogEntry,
    LogFrontier,
)
from treatments.rules.log_tree import leaf_hash
from treatments.selectors.log import verify
from treatments.services.log import append_leaf
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_the_root_of_three_leaves_is_computed_by_hand(three: House) -> None:
    leaves = [bytes(entry.leaf) for entry in LogEntry.objects.order_by("seq")]
    # RFC 9162 2.1.1: MTH of three = H(01 || H(01 || l0 || l1) || l2)
    first, second, third = (sha256(b"\x00" + leaf).digest() for leaf in leaves)
    left = sha256(b"\x01" + first + second).digest()
    root = sha256(b"\x01" + left + third).hexdigest()
    found = verify(three.place.branch_id)
    assert (found.size, found.root, found.difference) == (3, root, "")
    assert found.is_whole


def test_the_guards_refuse_update_and_delete(three: House) -> None:
    entry = LogEntry.objects.order_by("seq")[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        LogEntry.objects.filter(pk=entry.pk).update(kind="other")
    with pytest.raises(IntegrityError), transaction.atomic():
        ApplicationRecord.objects.update(product_amount="9")


@pytest.mark.parametrize(
    ("statement", "difference"),
    [
        (
            "UPDATE treatments_applicationrecord SET product_amount = '9' WHERE id = {record}",
            "Leaf 1 (record {record}): payload.record.product_amount is '9' in the table "
            "and '1.6' in the log.",
        ),
        (
            "UPDATE treatments_treatedarea SET zone_name = 'Eaves' WHERE record_id = {record}",
            "Leaf 1 (record {record}): payload.areas.0.zone_name is 'Eaves' in the table "
            "and 'Foundation band' in the log.",
        ),
        (
            "UPDATE treatments_applicationjudgement SET severity = 'warn' "
            "WHERE record_id = {record} AND code = 'rate'",
            "severity is 'warn' in the table and 'note' in the log.",
        ),
        (
            "UPDATE treatments_residualwindow SET days = 900 WHERE applied_on = '2026-11-15'",
            "payload.windows.0.days is 900 in the table and 90 in the log.",
        ),
        (
            "UPDATE treatments_recordpersonalvalue SET value = 'Somebody Else' "
            "WHERE record_id = {record} AND field = 'applicator_name'",
            "payload.personal.applicator_name is",
        ),
        (
            "DELETE FROM treatments_recordpersonalvalue WHERE record_id = {record} "
            "AND field = 'street'",
            "payload.personal.street is None in the table",
        ),
        (
            "UPDATE treatments_logentry SET leaf_hash = '{zeros}' WHERE seq = 1",
            "Leaf 1: its bytes do not give its hash.",
        ),
        ("DELETE FROM treatments_logentry WHERE seq = 1", "Leaf 1 is missing: the next one is 2."),
        (
            "DELETE FROM treatments_logentry WHERE seq = 2",
            "The log counts 3 leaves and 2 are here.",
        ),
        (
            "UPDATE treatments_logfrontier SET size = 2",
            "The log counts 2 leaves and 3 are here.",
        ),
        (
            'UPDATE treatments_logfrontier SET nodes = \'["{zeros}", "{zeros}"]\'',
            "The kept end of the log does not fit its leaves.",
        ),
    ],
)
def test_a_change_behind_the_guards_is_found(three: House, statement: str, difference: str) -> None:
    record = ApplicationRecord.objects.order_by("pk")[1].pk
    facts = {"record": record, "zeros": "0" * 64}
    behind_the_guards(statement.format(**facts))
    found = verify(three.place.branch_id)
    assert not found.is_whole
    assert difference.format(**facts) in found.difference


def test_a_record_taken_out_with_all_its_rows_is_found(three: House) -> None:
    record = ApplicationRecord.objects.order_by("pk")[1].pk
    window = (
        "SELECT w.id FROM treatments_residualwindow w JOIN treatments_treatedarea a "
        f"ON a.id = w.treated_area_id WHERE a.record_id = {record}"
    )
    with transaction.atomic():
        behind_the_guards(
            f"DELETE FROM treatments_zoneprotection WHERE window_id IN ({window})",
            f"DELETE FROM treatments_residualwindow WHERE id IN ({window})",
            *(
                f"DELETE FROM treatments_{line} WHERE record_id = {record}"
                for line in ("treatedarea", "applicationjudgement", "recordpersonalvalue")
            ),
            f"DELETE FROM treatments_applicationrecord WHERE id = {record}",
        )
        found = verify(three.place.branch_id)
        transaction.set_rollback(True)
    assert found.difference == f"Leaf 1: record {record} is not in the table."


def test_rewritten_bytes_with_their_own_hash_are_found(three: House) -> None:
    entry = LogEntry.objects.get(seq=1)
    changed = bytes(entry.leaf).replace(b'"product_amount":"1.6"', b'"product_amount":"1.5"')
    assert changed != bytes(entry.leaf)
    literal = {"sqlite": f"X'{changed.hex()}'", "postgresql": f"'\\x{changed.hex()}'"}
    behind_the_guards(
        f"UPDATE treatments_logentry SET leaf = {literal[connection.vendor]}, "
        f"leaf_hash = '{leaf_hash(changed).hex()}' WHERE seq = 1"
    )
    assert "'1.6' in the table and '1.5' in the log" in verify(three.place.branch_id).difference


def test_bytes_that_are_no_leaf_are_found(three: House) -> None:
    literal = {"sqlite": "X'ff'", "postgresql": "'\\xff'"}
    behind_the_guards(
        f"UPDATE treatments_logentry SET leaf = {literal[connection.vendor]}, "
        f"leaf_hash = '{leaf_hash(bytes([255])).hex()}' WHERE seq = 0"
    )
    assert verify(three.place.branch_id).difference == "Leaf 0: its bytes cannot be read."


def test_a_personal_value_that_no_purge_forgot_is_missed(three: House) -> None:
    behind_the_guards("DELETE FROM treatments_recordpersonalvalue WHERE field = 'customer_name'")
    found = verify(three.place.branch_id, now=NOW)
    assert "payload.personal.customer_name is None in the table" in found.difference
    # also when its retention is over: seven years by the firm's default (house rule), and a day
    assert not verify(three.place.branch_id, now=NOW + timedelta(days=7 * 366)).is_whole


def test_a_record_without_a_leaf_is_found(three: House) -> None:
    slipped_in = make_record(three.band, three.technician, three.use)
    assert verify(three.place.branch_id).difference == (
        f"Record {slipped_in.pk} has 0 leaves in the log, not 1."
    )


def test_the_time_of_the_log_never_goes_back(house: House) -> None:
    for at in (NOW, NOW - timedelta(hours=5)):
        append_leaf(
            branch_id=house.place.branch_id,
            kind="note",
            payload={"version": 1},
            record=None,
            by=None,
            now=at,
        )
    assert list(LogEntry.objects.order_by("seq").values_list("at", flat=True)) == [NOW, NOW]


def test_a_branch_without_a_log_is_whole_and_empty(house: House) -> None:
    found = verify(house.place.branch_id)
    # RFC 9162 2.1.1: the hash of an empty list is SHA-256 of nothing
    assert (found.size, found.root) == (0, sha256(b"").hexdigest())
    assert found.is_whole


def test_the_command_says_whole(three: House) -> None:
    out = StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("verify_log", stdout=out)
    assert out.getvalue().startswith("Columbus: 3 leaves, root ")
    assert out.getvalue().endswith("\n  whole\n")


def test_the_command_fails_and_says_where(three: House) -> None:
    behind_the_guards("UPDATE treatments_applicationrecord SET city = 'Elsewhere'")
    out = StringIO()
    with (
        time_machine.travel(NOW, tick=False),
        pytest.raises(CommandError, match="1 of 1 logs differ"),
    ):
        call_command("verify_log", "--branch", "columbus", stdout=out)
    assert "payload.record.city is 'Elsewhere' in the table" in out.getvalue()


def test_the_command_knows_its_branches(three: House) -> None:
    with pytest.raises(CommandError, match="no log of a branch named 'Nowhere'"):
        call_command("verify_log", "--branch", "Nowhere")


def test_two_branches_have_two_logs(make_house: Callable[..., House], branch_penn: object) -> None:
    ohio = make_house()
    record_application(application=ohio.application(), by=ohio.technician, now=NOW)
    penn = make_house(street="1 Lake Road", branch=branch_penn, state="PA")
    record_application(application=penn.application(), by=penn.technician, now=NOW)
    assert list(LogFrontier.objects.values_list("size", flat=True)) == [1, 1]
    assert set(LogEntry.objects.values_list("seq", flat=True)) == {0}
