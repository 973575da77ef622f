"""Signed heads: made once a day, written outside, and every cut, swap and forgery is found."""

from __future__ import annotations

import json
import stat
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core import mail
from django.core.management import CommandError, call_command

from accounts.models import AuditEvent, OpenItem
from accounts.refusals import Refused
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from treatments.models import LogEntry, SignedHead
from treatments.rules.signed_heads import Head, fingerprint, signature_holds
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint, key_path, pending_path, public_hex
from treatments.selectors.log_outside import outside_lines, outside_path
from treatments.services import log_keys
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import rotate_key, signing_key

pytestmark = [
    pytest.mark.engine,
    pytest.mark.django_db,
    pytest.mark.usefixtures("log_files"),
]


def grow(house: House, count: int = 1) -> None:
    for _ in range(count):
        append_leaf(
            branch_id=house.place.branch_id, kind="note", payload={"version": 1}, record=None,
            by=None, now=NOW,
        )  # fmt: skip


def found(house: House) -> str:
    return verify(house.place.branch_id, key=key_fingerprint(), now=NOW).difference


def test_the_key_is_made_once_for_its_owner_only() -> None:
    first = public_hex(signing_key())
    assert public_hex(signing_key()) == first
    assert stat.S_IMODE(key_path().stat().st_mode) == 0o600
    assert key_fingerprint() == fingerprint(first)
    assert [one.name for one in key_path().parent.iterdir()] == ["log_key.pem"]


def test_a_head_says_size_root_time_and_key_and_verifies(three: House) -> None:
    done = sign_heads(now=NOW)
    (row,) = done.signed
    chain = verify(three.place.branch_id)
    assert (row.size, row.root, row.at) == (3, chain.root, NOW)
    assert row.key_fingerprint == done.key == key_fingerprint()
    # the bytes written out by hand: RFC 8785, keys sorted, no spaces
    message = (
        f'{{"at":"2026-11-25T20:00:00.000000Z","branch":{row.branch_id},'
        f'"format":"eaveline-head/1","key":"{row.key_fingerprint}","root":"{row.root}","size":3}}'
    )
    assert signature_holds(row.public_key, message.encode(), row.signature)
    assert found(three) == ""


def test_the_same_day_signs_again_only_what_grew(three: House) -> None:
    assert [len(sign_heads(now=NOW).signed) for _ in range(2)] == [1, 0]
    grow(three)
    assert [len(sign_heads(now=NOW).signed) for _ in range(2)] == [1, 0]
    assert len(sign_heads(now=NOW + timedelta(days=1)).signed) == 1
    sizes = [line.head.size for line in outside_lines(three.place.branch_id) if line.head]
    assert sizes == [3, 4, 4]


def test_a_head_that_could_not_be_written_is_written_later(
    three: House, settings: Any, log_files: Path
) -> None:
    blocked = log_files / "a file"
    blocked.write_text("no folder")
    settings.LOG_HEADS_DIR = str(blocked)
    assert "could not be written outside" in sign_heads(now=NOW).failures[0]
    settings.LOG_HEADS_DIR = str(log_files / "heads")
    assert sign_heads(now=NOW).failures == ()
    assert len(outside_lines(three.place.branch_id)) == 1
    assert stat.S_IMODE(outside_path(three.place.branch_id).stat().st_mode) == 0o600


def test_the_head_of_a_day_is_mailed_once(three: House, settings: Any) -> None:
    settings.LOG_HEADS_EMAIL = ["outside@firm.example"]
    sign_heads(now=NOW)
    grow(three)
    sign_heads(now=NOW)
    sign_heads(now=NOW + timedelta(days=1))
    assert [one.subject for one in mail.outbox] == [
        "Log of Columbus: 3 leaves on 2026-11-25",
        "Log of Columbus: 4 leaves on 2026-11-26",
    ]
    line = mail.outbox[0].body.strip().splitlines()[-1]
    assert Head.from_line(json.loads(line)).is_sound
    assert AuditEvent.objects.filter(act="mail_log_head").count() == 2


def test_a_cut_tail_is_found_by_the_last_head_inside(three: House) -> None:
    sign_heads(now=NOW)
    behind_the_guards("DELETE FROM treatments_logentry WHERE seq = 2")
    assert found(three) == (
        "A signed head of 2026-11-25T20:00:00.000000Z counts 3 leaves and 2 are here."
    )


def test_a_tail_cut_with_its_head_and_end_is_found_by_the_head_outside(three: House) -> None:
    branch_id = three.place.branch_id
    grow(three)
    sign_heads(now=NOW)
    nodes = verify(branch_id)
    assert nodes.is_whole
    shorter = _frontier_of(3)
    behind_the_guards(
        "DELETE FROM treatments_logentry WHERE seq = 3",
        "DELETE FROM treatments_signedhead",
        f"UPDATE treatments_logfrontier SET size = 3, nodes = '{json.dumps(shorter)}'",
    )
    assert found(three) == (
        f"A head on line 1 of heads-of-branch-{branch_id}.jsonl counts 4 leaves and 3 are here."
    )
    outside_path(branch_id).unlink()
    assert found(three) == ""  # without a copy outside, a whole beginning is a whole log


def _frontier_of(size: int) -> list[str]:
    from treatments.rules.log_tree import Frontier  # noqa: PLC0415

    frontier = Frontier()
    for text in LogEntry.objects.order_by("seq").values_list("leaf_hash", flat=True)[:size]:
        frontier = frontier.append(bytes.fromhex(text))
    return frontier.to_hex()


def test_a_log_that_became_shorter_is_not_signed(three: House) -> None:
    sign_heads(now=NOW)
    shorter = _frontier_of(2)
    behind_the_guards(
        "DELETE FROM treatments_logentry WHERE seq = 2",
        f"UPDATE treatments_logfrontier SET size = 2, nodes = '{json.dumps(shorter)}'",
    )
    done = sign_heads(now=NOW)
    assert done.signed == () and "leaves are missing" in done.failures[0]
    assert OpenItem.objects.get().code == "log_not_signed"


@pytest.mark.parametrize("column", ["root", "signature", "public_key", "key_fingerprint"])
def test_a_swapped_head_is_found(three: House, column: str) -> None:
    sign_heads(now=NOW)
    behind_the_guards(f"UPDATE treatments_signedhead SET {column} = '{'0' * 64}'")
    assert found(three) == (
        "The signature of the signed head of 2026-11-25T20:00:00.000000Z over 3 leaves does not "
        "hold."
    )


def test_heads_forged_with_another_key_are_found(three: House) -> None:
    sign_heads(now=NOW)
    row = SignedHead.objects.get()
    theirs = Ed25519PrivateKey.generate()
    name = fingerprint(public_hex(theirs))
    forged = Head(row.branch_id, 3, row.root, "2026-11-25T20:00:00.000000Z", name)
    behind_the_guards(
        f"UPDATE treatments_signedhead SET key_fingerprint = '{name}', "
        f"public_key = '{public_hex(theirs)}', signature = '{theirs.sign(forged.message).hex()}'"
    )
    outside_path(row.branch_id).unlink()
    assert found(three).startswith(f"The log is signed by the key {name[:16]}")


def test_a_rewritten_log_no_longer_goes_through_its_heads(three: House) -> None:
    sign_heads(now=NOW)
    grow(three, 2)
    sign_heads(now=NOW)
    behind_the_guards(f"UPDATE treatments_signedhead SET root = '{'0' * 64}' WHERE size = 5")
    assert "over 5 leaves does not hold" in found(three)


def test_a_line_outside_that_is_no_head_is_found(three: House) -> None:
    sign_heads(now=NOW)
    path = outside_path(three.place.branch_id)
    path.write_bytes(path.read_bytes()[:-30])
    assert found(three) == f"Line 1 of {path.name} is not a signed head."
    sign_heads(now=NOW)
    assert [bool(line.head) for line in outside_lines(three.place.branch_id)] == [False, True]


def test_a_head_taken_out_of_the_database_is_found(three: House) -> None:
    sign_heads(now=NOW)
    behind_the_guards("DELETE FROM treatments_signedhead")
    assert "over 3 leaves is not in the database" in found(three)


def test_a_changed_key_is_followed(three: House) -> None:
    sign_heads(now=NOW)
    old, new = rotate_key(now=NOW)
    sign_heads(now=NOW)
    assert key_fingerprint() == new != old
    assert [row.key_fingerprint for row in SignedHead.objects.order_by("pk")] == [old, new]
    assert found(three) == ""
    assert LogEntry.objects.get(seq=3).kind == "key"
    # the old key signs nothing any more
    other = verify(three.place.branch_id, key=old)
    assert "is signed by the key" in other.difference


def test_a_change_that_was_cut_off_is_finished(three: House, monkeypatch: Any) -> None:
    sign_heads(now=NOW)

    def power_cut(*names: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as cut:
        cut.setattr(log_keys.os, "replace", power_cut)
        with pytest.raises(KeyboardInterrupt):
            rotate_key(now=NOW)
    assert pending_path().exists()
    with pytest.raises(Refused, match="rotate_log_key again"):
        sign_heads(now=NOW)
    rotate_key(now=NOW)
    sign_heads(now=NOW)
    assert LogEntry.objects.filter(kind="key").count() == 1
    assert found(three) == ""


def test_a_change_of_the_key_that_only_one_key_signed_is_found(three: House) -> None:
    sign_heads(now=NOW)
    theirs = Ed25519PrivateKey.generate()
    row = SignedHead.objects.get()
    payload = {"old": row.public_key, "new": public_hex(theirs), "at": "", "branch": row.branch_id}
    append_leaf(branch_id=row.branch_id, kind="key", payload=payload, record=None, by=None, now=NOW)
    assert found(three) == "Leaf 3: the change of the key is not signed by both keys."


def test_a_lost_key_is_not_replaced_in_silence(three: House) -> None:
    sign_heads(now=NOW)
    key_path().unlink()
    with pytest.raises(Refused, match="Put the file back"):
        sign_heads(now=NOW)


def test_another_key_in_the_file_signs_nothing(three: House) -> None:
    sign_heads(now=NOW)
    behind_nothing = key_path()
    behind_nothing.unlink()
    log_keys._write_key(behind_nothing)
    done = sign_heads(now=NOW + timedelta(days=1))
    assert done.signed == () and "Put the right file back" in done.failures[0]


def test_a_clock_an_hour_ahead_is_found(three: House) -> None:
    append_leaf(
        branch_id=three.place.branch_id, kind="note", payload={"version": 1}, record=None, by=None,
        now=NOW + timedelta(hours=1),
    )  # fmt: skip
    assert found(three) == "Leaf 3: its time, 2026-11-25T21:00:00.000000Z, has not come yet."
    later = verify(three.place.branch_id, now=NOW + timedelta(hours=1))
    assert later.is_whole


@pytest.mark.parametrize("command", ["log_key", "sign_heads", "rotate_log_key", "verify_log"])
def test_a_file_that_is_no_key_is_said_by_every_command(command: str, three: House) -> None:
    key_path().parent.mkdir(parents=True)
    key_path().write_text("not a key")
    with pytest.raises(CommandError, match="is not a key"):
        call_command(command)


def test_the_commands_say_fingerprint_and_heads(three: House) -> None:
    out = StringIO()
    with time_machine.travel(NOW, tick=False):
        call_command("log_key", stdout=out)
        call_command("sign_heads", stdout=out)
        call_command("rotate_log_key", stdout=out)
        call_command("verify_log", stdout=out)
    said = out.getvalue()
    assert f"Key from now on: {key_fingerprint()}" in said
    assert "Columbus: 3 leaves, root " in said
    assert "2 signed heads compared\n  whole" in said
