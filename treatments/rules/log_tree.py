"""The hash tree of the compliance log: RFC 9162, section 2.1, with SHA-256.

A leaf is hashed behind 00, a node behind 01; lists are never padded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

EMPTY_ROOT = sha256(b"").digest()
HASH_BYTES = 32


def leaf_hash(entry: bytes) -> bytes:
    """SHA-256(00 || entry)."""
    return sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256(01 || left || right)."""
    return sha256(b"\x01" + left + right).digest()


def split(size: int) -> int:
    """The largest power of two below `size`; `size` is 2 or more."""
    return 1 << ((size - 1).bit_length() - 1)


def inclusion_holds(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], expected: bytes
) -> bool:
    """Whether `leaf` (its hash) stands at `index` of the tree of `size` with root `expected`.

    The algorithm of 2.1.3.2.
    """
    if not 0 <= index < size:
        return False
    place, last, found = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if place & 1 or place == last:
            found = node_hash(sibling, found)
            place, last = _up_to_left_child(place, last)
        else:
            found = node_hash(found, sibling)
        place, last = place >> 1, last >> 1
    return last == 0 and found == expected


def _up_to_left_child(place: int, last: int) -> tuple[int, int]:
    while place and not place & 1:
        place, last = place >> 1, last >> 1
    return place, last


def consistency_holds(
    old_size: int, new_size: int, old_root: bytes, new_root: bytes, proof: Sequence[bytes]
) -> bool:
    """Whether the tree of `old_size` is the beginning of the tree of `new_size` (2.1.4.2)."""
    if old_size == new_size:
        return not proof and old_root == new_root and old_size >= 0
    if not 1 <= old_size < new_size:
        return False
    path = [old_root, *proof] if old_size & (old_size - 1) == 0 else list(proof)
    if not path:
        return False
    return _replay(old_size - 1, new_size - 1, path) == (old_root, new_root)


def _replay(place: int, last: int, path: Sequence[bytes]) -> tuple[bytes, bytes] | None:
    """Both roots that a consistency path leads to; None when its length is wrong."""
    while place & 1:
        place, last = place >> 1, last >> 1
    old = new = path[0]
    for sibling in path[1:]:
        if last == 0:
            return None
        if place & 1 or place == last:
            old, new = node_hash(sibling, old), node_hash(sibling, new)
            place, last = _up_to_left_child(place, last)
        else:
            new = node_hash(new, sibling)
        place, last = place >> 1, last >> 1
    return (old, new) if last == 0 else None


@dataclass(frozen=True)
class Frontier:
    """The complete subtrees of a growing tree, largest first: enough to append and to root.

    `hashes` has one hash for each bit of `size`; ValueError otherwise.
    """

    size: int = 0
    hashes: tuple[bytes, ...] = ()

    def __post_init__(self) -> None:
        fits = self.size >= 0 and len(self.hashes) == self.size.bit_count()
        if not fits or any(len(one) != HASH_BYTES for one in self.hashes):
            raise ValueError(f"{len(self.hashes)} hashes are no frontier of {self.size} leaves")

    def append(self, leaf: bytes) -> Frontier:
        """The frontier with one more leaf hash, in O(log n)."""
        kept, carried, size = list(self.hashes), leaf, self.size
        while size & 1:
            carried, size = node_hash(kept.pop(), carried), size >> 1
        return Frontier(self.size + 1, (*kept, carried))

    @property
    def root(self) -> bytes:
        """Root of all leaves so far."""
        if not self.hashes:
            return EMPTY_ROOT
        found = self.hashes[-1]
        for left in reversed(self.hashes[:-1]):
            found = node_hash(left, found)
        return found

    def to_hex(self) -> list[str]:
        """The hashes as text, for storage beside `size`."""
        return [one.hex() for one in self.hashes]

    @classmethod
    def from_hex(cls, size: int, hashes: Sequence[str]) -> Frontier:
        """Back from storage; ValueError when size and hashes do not fit."""
        return cls(size, tuple(bytes.fromhex(one) for one in hashes))
