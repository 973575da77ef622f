"""Making the key that signs heads, and changing it for another one."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from django.db import transaction

from accounts.refusals import Refused
from accounts.services.audit import name_of, note_event, open_item
from treatments.models import LogEntry, LogFrontier, SignedHead
from treatments.rules.leaves import instant
from treatments.rules.signed_heads import ROTATION_KIND, Rotation, fingerprint
from treatments.selectors.log_keys import key_path, pending_path, public_hex, read_key
from treatments.services.log import append_leaf

if TYPE_CHECKING:
    from accounts.models import Branch


def signing_key() -> Ed25519PrivateKey:
    """The key that signs, made at first use.

    Refused: the file is gone although heads were signed, or a rotation was begun and not ended.
    """
    if pending_path().exists():
        raise Refused(
            "log_key", "A change of the key was not finished. Run manage.py rotate_log_key again."
        )
    key = read_key(key_path())
    if key is None:
        _refuse_second_first_key()
        key = _write_key(key_path())
        note_event(by=None, act="make_log_key", thing=fingerprint(public_hex(key)))
    return key


def _refuse_second_first_key() -> None:
    if SignedHead.objects.exists():
        raise Refused(
            "log_key",
            f"{key_path()} is not there, but heads were signed with it. Put the file back from "
            "where you keep its copy. If there is none: manage.py rotate_log_key --lost.",
        )


def _write_key(path: Path) -> Ed25519PrivateKey:
    """Make a key readable by its owner only; whoever comes second takes the first one's."""
    key = Ed25519PrivateKey.generate()
    pem = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(pem)
        file.flush()
        os.fsync(file.fileno())
    try:
        os.link(part, path)  # a link never replaces a file, a rename would
    except FileExistsError:
        return read_key(path) or key
    finally:
        part.unlink()
    return key


def rotate_key(*, now: datetime) -> tuple[str, str]:
    """Change the key: a leaf in every log, signed by both keys; fingerprints of old and new.

    The new key waits in its own file until the leaves are stored, so that a run that was cut off
    goes on where it ended. Refused without a key.
    """
    old = read_key(key_path())
    if old is None:
        raise Refused("log_key", "There is no key to change yet. Run manage.py log_key first.")
    new = read_key(pending_path()) or _write_key(pending_path())
    with transaction.atomic():
        for frontier in LogFrontier.objects.order_by("branch_id"):
            _append_rotation(frontier.branch_id, old, new, now)
        names = fingerprint(public_hex(old)), fingerprint(public_hex(new))
        note_event(by=None, act="rotate_log_key", thing=names[1], now=now, old=names[0])
    os.replace(pending_path(), key_path())
    return names


def replace_lost_key(*, since: datetime, now: datetime) -> tuple[str, str]:
    """Go on with a new key where the old one and its copy are lost; fingerprints of both.

    Every log gets a leaf that the new key signs alone and that says since when the old one is lost,
    and an open item. Refused: a key that is here, none that ever signed, a time to come or before
    the last head it signed.
    """
    last = SignedHead.objects.order_by("-at", "-pk").first()
    if key_path().exists() or last is None:
        raise Refused("log_key", "No key is lost: its file is here, or nothing was signed yet.")
    if not last.at <= since <= now:
        raise Refused(
            "log_key",
            f"The key signed last at {instant(last.at)}: say a time from then until now.",
        )
    new = read_key(pending_path()) or _write_key(pending_path())
    with transaction.atomic():
        for frontier in LogFrontier.objects.select_related("branch").order_by("branch_id"):
            _append_loss(frontier.branch, last.public_key, new, since, now)
        names = fingerprint(last.public_key), fingerprint(public_hex(new))
        note_event(by=None, act="replace_lost_key", thing=names[1], now=now, old=names[0])
    os.replace(pending_path(), key_path())
    return names


def _append_loss(
    branch: Branch, old: str, new: Ed25519PrivateKey, since: datetime, now: datetime
) -> None:
    if _is_known(branch.pk, public_hex(new)):
        return
    said = Rotation(branch.pk, old, public_hex(new), instant(now), lost_since=instant(since))
    signed = replace(said, signed_by_new=new.sign(said.message).hex())
    open_item(
        branch_id=branch.pk,
        code="log_key_lost",
        thing=f"{name_of(branch)} key:{fingerprint(said.new)[:16]}",
        sentence=f"The key of the log of {branch.name} is lost since {said.lost_since}; the log "
        "goes on with a key that the old one did not vouch for. Tell whoever holds the old "
        "fingerprint, compare the heads kept elsewhere, and write down how it was lost.",
    )
    append_leaf(
        branch_id=branch.pk, kind=ROTATION_KIND, payload=signed.payload(), record=None, by=None,
        now=now,
    )  # fmt: skip


def _append_rotation(
    branch_id: int, old: Ed25519PrivateKey, new: Ed25519PrivateKey, now: datetime
) -> None:
    if _is_known(branch_id, public_hex(new)):
        return
    unsigned = Rotation(branch_id, public_hex(old), public_hex(new), instant(now))
    rotation = Rotation(
        branch_id,
        unsigned.old,
        unsigned.new,
        unsigned.at,
        old.sign(unsigned.message).hex(),
        new.sign(unsigned.message).hex(),
    )
    payload = rotation.payload()
    append_leaf(
        branch_id=branch_id, kind=ROTATION_KIND, payload=payload, record=None, by=None, now=now
    )


def _is_known(branch_id: int, new: str) -> bool:
    """Whether a run before this one stored the leaf already."""
    leaves = LogEntry.objects.filter(branch_id=branch_id, kind=ROTATION_KIND)
    return any(new.encode() in bytes(leaf) for leaf in leaves.values_list("leaf", flat=True))
