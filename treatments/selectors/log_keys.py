"""The key that signs heads: a file of its own, outside the database and the data folder."""

from __future__ import annotations

from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from django.conf import settings

from accounts.refusals import Refused
from treatments.rules.signed_heads import fingerprint

PENDING = ".next"


def key_path() -> Path:
    """Where the key is kept (`LOG_KEY_FILE`)."""
    return Path(settings.LOG_KEY_FILE)


def pending_path() -> Path:
    """Where the next key waits until every log knows of it."""
    return key_path().with_name(key_path().name + PENDING)


def read_key(path: Path) -> Ed25519PrivateKey | None:
    """The key in a file, None when there is no file; refused when the file holds no such key."""
    try:
        kept = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as failure:
        raise Refused("log_key", f"The key of the log cannot be read: {failure}.") from failure
    try:
        key = load_pem_private_key(kept, password=None)
    except (ValueError, TypeError) as failure:
        raise Refused("log_key", f"{path} is not a key. Put back the right file.") from failure
    if not isinstance(key, Ed25519PrivateKey):
        raise Refused("log_key", f"{path} is not an Ed25519 key. Put back the right file.")
    return key


def public_hex(key: Ed25519PrivateKey) -> str:
    """The public bytes of a key, in hex."""
    return key.public_key().public_bytes_raw().hex()


def key_fingerprint() -> str:
    """Fingerprint of the key that signs now; empty when there is none on this machine."""
    key = read_key(key_path())
    return fingerprint(public_hex(key)) if key else ""
