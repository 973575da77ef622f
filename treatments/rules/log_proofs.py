"""Proofs from the leaf hashes of a log: RFC 9162, sections 2.1.3.1 and 2.1.4.1.

A tree keeps its levels, so that each further proof costs a few look-ups and no hashing. A node
without a right sibling is carried up as it is, which gives the tree of section 2.1.1.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from hashlib import sha256

from treatments.rules.log_tree import EMPTY_ROOT, HASH_BYTES, split


class Tree:
    """The whole tree over leaf hashes that stand one after another, 32 bytes each.

    ValueError when the bytes are no whole number of hashes.
    """

    def __init__(self, leaves: bytes) -> None:
        if len(leaves) % HASH_BYTES:
            raise ValueError(f"{len(leaves)} bytes are no whole number of hashes")
        self.leaves = leaves
        self.size = len(leaves) // HASH_BYTES

    @classmethod
    def of(cls, hashes: Iterable[str]) -> Tree:
        """The tree over hashes written as hex, as the log keeps them."""
        return cls(b"".join(bytes.fromhex(one) for one in hashes))

    @cached_property
    def levels(self) -> list[bytes]:
        """The hashes of each level from the leaves to the root."""
        found = [self.leaves]
        while len(found[-1]) > HASH_BYTES:
            found.append(_level_above(found[-1]))
        return found

    @property
    def root(self) -> bytes:
        """Root of all leaves."""
        return self.levels[-1] if self.size else EMPTY_ROOT

    def beginning(self, size: int) -> Tree:
        """The tree of the first `size` leaves; IndexError beyond this tree."""
        if not 0 <= size <= self.size:
            raise IndexError(f"{size} is not a size of a tree of {self.size}")
        return Tree(self.leaves[: size * HASH_BYTES])

    def inclusion_proof(self, index: int) -> list[bytes]:
        """Siblings from the bottom for leaf `index` (PATH of 2.1.3.1); IndexError outside."""
        if not 0 <= index < self.size:
            raise IndexError(f"leaf {index} is not in a tree of {self.size}")
        return list(self._siblings(index))

    def _siblings(self, index: int) -> Iterator[bytes]:
        for level in self.levels[:-1]:
            if sibling := _node(level, index ^ 1):
                yield sibling
            index >>= 1

    def consistency_proof(self, old_size: int) -> list[bytes]:
        """Nodes showing that the first `old_size` leaves are unchanged (PROOF of 2.1.4.1).

        `old_size` is from 1 to the number of leaves, IndexError otherwise.
        """
        if not 1 <= old_size <= self.size:
            raise IndexError(f"{old_size} is not a size of a tree of {self.size}")
        return self._subproof(old_size, 0, self.size, True)

    def _subproof(self, old_size: int, first: int, size: int, complete: bool) -> list[bytes]:
        if old_size == size:
            return [] if complete else [self._over(first, size)]
        k = split(size)
        if old_size <= k:
            right = self._over(first + k, size - k)
            return [*self._subproof(old_size, first, k, complete), right]
        left = self._over(first, k)
        return [*self._subproof(old_size - k, first + k, size - k, False), left]

    def _over(self, first: int, size: int) -> bytes:
        """The node over `size` leaves from `first`, a subtree of this tree."""
        height = (size - 1).bit_length()
        return _node(self.levels[height], first >> height)


def _node(level: bytes, index: int) -> bytes:
    return level[index * HASH_BYTES : (index + 1) * HASH_BYTES]


def _level_above(level: bytes) -> bytes:
    pair = 2 * HASH_BYTES
    whole = len(level) - len(level) % pair
    above = [sha256(b"\x01" + level[at : at + pair]).digest() for at in range(0, whole, pair)]
    return b"".join([*above, level[whole:]])
