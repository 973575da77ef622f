"""Walking the leaves of a log in order: bytes to hash, hash to tree, and the roots on the way."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from hashlib import sha256

from treatments.rules.log_tree import Frontier

WRITTEN_TO = (
    "Somebody wrote to the database past its guards: keep a copy as it is now, find out who could, "
    "and put the rows back from a backup made before."
)
CUT = (
    "Leaves were taken away. Keep a copy of the database as it is now, find out who could write to "
    "it, and put the missing leaves back from a backup made after that time."
)
COMPARE_HEAD = (
    "Compare it with the copy outside the database (the file of heads, the daily mail): the copy "
    "is what was signed."
)


class Difference(Exception):
    """One place where log, rows and heads part, in a sentence, with what to do about it.

    `seq` is the number of the leaf, None where the place is not a single leaf.
    """

    def __init__(self, sentence: str, *, to_do: str = WRITTEN_TO, seq: int | None = None) -> None:
        super().__init__(sentence)
        self.sentence, self.to_do, self.seq = sentence, to_do, seq


@dataclass
class Chain:
    """What a walk found: how many leaves, the frontier over them, the root at each size asked."""

    size: int = 0
    nodes: list[bytes] = field(default_factory=list)
    roots: dict[int, str] = field(default_factory=dict)
    difference: Difference | None = None

    @property
    def frontier(self) -> Frontier:
        """The end of the log as it must be kept."""
        return Frontier(self.size, tuple(self.nodes))

    @property
    def root(self) -> str:
        """Root over every leaf that was walked, in hex."""
        return self.frontier.root.hex()


def walk(rows: Iterable[tuple[int, bytes | memoryview, str]], sizes: Collection[int] = ()) -> Chain:
    """Walk leaves (number, bytes, hash as kept) to the end or to the first difference.

    `sizes` are the sizes whose root is wanted, those of the signed heads.
    """
    chain = Chain(roots={0: Frontier().root.hex()})
    nodes, wanted, size = chain.nodes, frozenset(sizes), 0
    for seq, leaf, kept in rows:
        # inlined: this loop is the whole cost of a million leaves
        node = sha256(b"\x00" + leaf).digest()
        if seq != size or node.hex() != kept:
            chain.difference = _difference(size, seq)
            break
        place = size
        while place & 1:
            node = sha256(b"\x01" + nodes.pop() + node).digest()
            place >>= 1
        nodes.append(node)
        size += 1
        if size in wanted:
            chain.roots[size] = Frontier(size, tuple(nodes)).root.hex()
    chain.size = size
    return chain


def _difference(expected: int, seq: int) -> Difference:
    if seq == expected:
        return Difference(f"Leaf {seq}: its bytes do not give its hash.", seq=seq)
    sentence = f"Leaf {expected} is missing: the next one is {seq}."
    return Difference(sentence, to_do=CUT, seq=expected)
