"""The tree and its proofs word for word as RFC 9162, section 2.1 defines them: the slow oracle."""

from __future__ import annotations

from collections.abc import Sequence

from treatments.rules.log_tree import EMPTY_ROOT, node_hash


def split(size: int) -> int:
    """The largest power of two below `size`, by trying."""
    k = 1
    while k * 2 < size:
        k *= 2
    return k


def root(leaves: Sequence[bytes]) -> bytes:
    """Root over leaf hashes, in order."""
    if not leaves:
        return EMPTY_ROOT
    if len(leaves) == 1:
        return leaves[0]
    k = split(len(leaves))
    return node_hash(root(leaves[:k]), root(leaves[k:]))


def inclusion_proof(index: int, leaves: Sequence[bytes]) -> list[bytes]:
    """Siblings from the bottom for leaf `index` (PATH of 2.1.3.1); IndexError outside."""
    if not 0 <= index < len(leaves):
        raise IndexError(f"leaf {index} is not in a tree of {len(leaves)}")
    if len(leaves) == 1:
        return []
    k = split(len(leaves))
    if index < k:
        return [*inclusion_proof(index, leaves[:k]), root(leaves[k:])]
    return [*inclusion_proof(index - k, leaves[k:]), root(leaves[:k])]


def consistency_proof(old_size: int, leaves: Sequence[bytes]) -> list[bytes]:
    """Nodes showing that the first `old_size` leaves are unchanged (PROOF of 2.1.4.1).

    `old_size` is from 1 to the number of leaves, IndexError otherwise.
    """
    if not 1 <= old_size <= len(leaves):
        raise IndexError(f"{old_size} is not a size of a tree of {len(leaves)}")
    return _subproof(old_size, leaves, True)


def _subproof(old_size: int, leaves: Sequence[bytes], complete: bool) -> list[bytes]:
    if old_size == len(leaves):
        return [] if complete else [root(leaves)]
    k = split(len(leaves))
    if old_size <= k:
        return [*_subproof(old_size, leaves[:k], complete), root(leaves[k:])]
    return [*_subproof(old_size - k, leaves[k:], False), root(leaves[:k])]
