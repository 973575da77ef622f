"""What is signed of a log, and whether a signature holds: Ed25519 (RFC 8032) over canonical JSON.

A key is named by its fingerprint, the SHA-256 of its 32 public bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from hashlib import sha256
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from treatments.rules.leaves import canonical_bytes

HEAD_FORMAT = "eaveline-head/1"
ROTATION_FORMAT, LOST_FORMAT = "eaveline-key/1", "eaveline-lost-key/1"
ROTATION_KIND = "key"


def fingerprint(public_key: str) -> str:
    """The name of a public key given in hex; ValueError when it is no hex."""
    return sha256(bytes.fromhex(public_key)).hexdigest()


def signature_holds(public_key: str, message: bytes, signature: str) -> bool:
    """Whether the signature (hex) over the message was made with the key (hex)."""
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
        key.verify(bytes.fromhex(signature), message)
    except (ValueError, InvalidSignature):
        return False
    return True


@dataclass(frozen=True)
class Head:
    """The root of a branch's log over its first `size` leaves at an instant, and who signed it."""

    branch: int
    size: int
    root: str
    at: str
    key: str
    public_key: str = ""
    signature: str = ""

    @property
    def message(self) -> bytes:
        """The bytes that are signed."""
        said = {"branch": self.branch, "size": self.size, "root": self.root, "at": self.at}
        return canonical_bytes({"format": HEAD_FORMAT, "key": self.key, **said})

    @property
    def is_sound(self) -> bool:
        """Whether the key is the one named and its signature holds."""
        return _is_of(self.public_key, self.key) and signature_holds(
            self.public_key, self.message, self.signature
        )

    def line(self) -> bytes:
        """The head as one line of a file outside the database."""
        return canonical_bytes({"format": HEAD_FORMAT, **asdict(self)}) + b"\n"

    @classmethod
    def from_line(cls, said: Mapping[str, Any]) -> Head:
        """Back from such a line; ValueError when a part is missing or of another kind."""
        kinds = {"branch": int, "size": int}
        names = ("branch", "size", "root", "at", "key", "public_key", "signature")
        if any(not isinstance(said.get(name), kinds.get(name, str)) for name in names):
            raise ValueError("a part of the head is missing")
        return cls(**{name: said[name] for name in names})


@dataclass(frozen=True)
class Rotation:
    """The change from one key to the next in a branch's log, signed by both (keys in hex).

    `lost_since` says since when the old one is lost; then the new one signs alone.
    """

    branch: int
    old: str
    new: str
    at: str
    signed_by_old: str = ""
    signed_by_new: str = ""
    lost_since: str = ""

    @property
    def message(self) -> bytes:
        """The bytes that both keys sign, or the new one alone."""
        said = {"branch": self.branch, "old": self.old, "new": self.new, "at": self.at}
        if self.lost_since:
            return canonical_bytes({"format": LOST_FORMAT, "lost_since": self.lost_since, **said})
        return canonical_bytes({"format": ROTATION_FORMAT, **said})

    @property
    def is_sound(self) -> bool:
        """Whether both signatures hold, of a lost key the one of the new key."""
        is_new = signature_holds(self.new, self.message, self.signed_by_new)
        if self.lost_since:
            return is_new and not self.signed_by_old
        return is_new and signature_holds(self.old, self.message, self.signed_by_old)

    def payload(self) -> dict[str, object]:
        """What the leaf says; leaves of a change that both sign say nothing of a loss."""
        said = {name: one for name, one in asdict(self).items() if name != "lost_since" or one}
        return {"version": 1, **said}

    @classmethod
    def from_payload(cls, said: object) -> Rotation:
        """Back from a leaf; parts that are missing are empty, so that no signature holds."""
        parts: Mapping[str, Any] = said if isinstance(said, Mapping) else {}
        text = {
            name: str(parts.get(name, ""))
            for name in ("old", "new", "at", "signed_by_old", "signed_by_new", "lost_since")
        }
        branch = parts.get("branch")
        return cls(branch=branch if isinstance(branch, int) else 0, **text)


def _is_of(public_key: str, key: str) -> bool:
    try:
        return fingerprint(public_key) == key
    except ValueError:
        return False


def key_at(size: int, first: str, rotations: Iterable[tuple[int, Rotation]]) -> str:
    """Fingerprint of the key that signs heads over `size` leaves.

    `first` is the one before any rotation; `rotations` come with the number of their leaf, in
    order. A head that counts the leaf of a rotation is signed by its new key.
    """
    found = first
    for seq, rotation in rotations:
        if seq < size:
            found = fingerprint(rotation.new)
    return found
