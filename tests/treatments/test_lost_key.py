"""A log whose key is lost with its copy goes on, and everything says that nobody vouched for it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.management import CommandError, call_command

from accounts.models import OpenItem
from accounts.refusals import Refused
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from tests.treatments.test_bundles import bundle, checked, unpacked
from treatments.models import LogEntry, SignedHead
from treatments.rules.signed_heads import Rotation
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint, key_path
from treatments.services.log import append_leaf
from treatments.services.log_heads import sign_heads
from treatments.services.log_keys import replace_lost_key, rotate_key

pytestmark = [
    pytest.mark.engine,
    pytest.mark.django_db,
    pytest.mark.usefixtures("log_files"),
]
LOST, FOUND = NOW + timedelta(minutes=5), NOW + timedelta(hours=1)


@pytest.fixture
def lost(three: House) -> str:
    """A log signed once, whose key is gone; the fingerprint of that key."""
    sign_heads(now=NOW)
    old = key_fingerprint()
    key_path().unlink()
    return old


def test_the_log_goes_on_and_says_who_did_not_vouch(three: House, lost: str) -> None:
    assert replace_lost_key(since=LOST, now=FOUND) == (lost, key_fingerprint())
    sign_heads(now=FOUND)
    said = json.loads(bytes(LogEntry.objects.get(kind="key").leaf))["payload"]
    assert said["signed_by_old"] == "" and said["lost_since"] == "2026-11-25T20:05:00.000000Z"
    found = verify(three.place.branch_id, key=key_fingerprint(), now=FOUND)
    assert found.is_whole
    (note,) = found.notes
    assert note.startswith("Signed from leaf 3 on by the key") and "did not vouch for" in note
    assert verify(three.place.branch_id, key=lost).difference.startswith("The log is signed by")
    item = OpenItem.objects.get(code="log_key_lost")
    assert "lost since 2026-11-25T20:05" in item.sentence
    # the next change is signed by both again
    rotate_key(now=FOUND)
    sign_heads(now=FOUND)
    assert verify(three.place.branch_id, key=key_fingerprint(), now=FOUND).is_whole


@pytest.mark.parametrize(
    "since",
    [NOW - timedelta(seconds=1), FOUND + timedelta(seconds=1)],
    ids=["before its last head", "to come"],
)
def test_it_was_lost_after_it_signed_last(three: House, lost: str, since: datetime) -> None:
    with pytest.raises(Refused, match="signed last at 2026-11-25"):
        replace_lost_key(since=since, now=FOUND)
    assert not key_path().exists() and not LogEntry.objects.filter(kind="key").exists()


def test_a_key_that_is_here_is_not_lost(three: House) -> None:
    with pytest.raises(Refused, match="No key is lost"):
        replace_lost_key(since=LOST, now=FOUND)
    sign_heads(now=NOW)
    with pytest.raises(Refused, match="No key is lost"):
        replace_lost_key(since=LOST, now=FOUND)


@pytest.mark.parametrize(
    "change",
    [{"lost_since": "2026-01-01T00:00:00.000000Z"}, {"lost_since": ""}, {"signed_by_new": "00"}],
)
def test_a_changed_or_unsigned_loss_is_found(
    three: House, lost: str, change: dict[str, Any]
) -> None:
    replace_lost_key(since=LOST, now=FOUND)
    said = json.loads(bytes(LogEntry.objects.get(kind="key").leaf))["payload"]
    assert Rotation.from_payload(said).is_sound
    forged = {name: one for name, one in (said | change).items() if one != ""}
    assert not Rotation.from_payload(forged).is_sound
    append_leaf(
        branch_id=three.place.branch_id, kind="key", payload=forged, record=None, by=None, now=FOUND
    )
    assert not verify(three.place.branch_id, now=FOUND).is_whole


def test_what_was_signed_before_stays_bound(three: House, lost: str) -> None:
    """Whoever takes a new key cannot write the past anew: the head outside is of the old key."""
    replace_lost_key(since=LOST, now=FOUND)
    sign_heads(now=FOUND)
    behind_the_guards("DELETE FROM treatments_signedhead WHERE size = 3")
    assert SignedHead.objects.count() == 1
    assert "is not in the database" in verify(three.place.branch_id, now=FOUND).difference


def test_the_script_of_a_bundle_says_it(three: House, lost: str, tmp_path: Path) -> None:
    replace_lost_key(since=LOST, now=FOUND)
    with time_machine.travel(FOUND, tick=False):
        folder = unpacked(bundle(), tmp_path / "bundle")
    for key, expected in ((key_fingerprint(), 0), (lost, 3), ("0" * 64, 3)):
        code, said = checked(folder, "--key", key)
        assert code == expected
        assert "Signed from here by a key the old one did not vouch for" in said
        assert "2026-11-25T20:05:00.000000Z (leaf 3)" in said
        assert ("Signed by the key you know." in said) == (expected == 0)


def test_the_command(three: House, lost: str) -> None:
    out = StringIO()
    with time_machine.travel(FOUND, tick=False):
        with pytest.raises(CommandError, match="no key to change"):
            call_command("rotate_log_key", stdout=out)
        call_command("rotate_log_key", lost=LOST, stdout=out)
        assert f"Key until now: {lost}" in out.getvalue()
        call_command("verify_log", stdout=out)
    assert "did not vouch for" in out.getvalue() and "whole" in out.getvalue()
