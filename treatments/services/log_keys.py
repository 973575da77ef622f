"""Making the key that signs heads, and changing it for another one."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from django.db import transaction

from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import LogEntry, LogFrontier, SignedHead
from treatments.rules.leaves import instant
from treatments.rules.signed_heads import ROTATION_KIND, Rotation, fingerprint
from treatments.selectors.log_keys import key_path, pending_path, public_hex, read_key
from treatments.services.log import append_leaf


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
            "where you keep its copy; a new key would not be known to anybody.",
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
