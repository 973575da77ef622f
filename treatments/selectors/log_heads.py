"""Signed heads: their keys, their signatures, and whether the log still goes through them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from treatments.models import LogEntry, SignedHead
from treatments.rules.leaves import instant
from treatments.rules.log_walk import COMPARE_HEAD, CUT, WRITTEN_TO, Chain, Difference
from treatments.rules.signed_heads import ROTATION_KIND, Head, Rotation, fingerprint, key_at
from treatments.selectors.log_outside import OutsideLine, outside_lines, outside_path

TORN = (
    "If the machine lost its power while it was written, delete that line. Otherwise somebody "
    "changed the file: compare it with the daily mail."
)
WRONG_KEY = (
    "Find out who changed the key file. Put the right one back; a key is changed by "
    "manage.py rotate_log_key, which every log then knows of."
)


@dataclass(frozen=True)
class Signatures:
    """Every head of a branch, inside and outside, and the changes of its key."""

    inside: tuple[Head, ...]
    outside: tuple[OutsideLine, ...]
    rotations: tuple[tuple[int, Rotation], ...]

    @property
    def heads(self) -> Iterator[Head]:
        """All that can be read."""
        yield from self.inside
        yield from (line.head for line in self.outside if line.head)

    @property
    def first_key(self) -> str:
        """Fingerprint of the key before any change; empty when nothing was signed."""
        if self.rotations:
            return _name_of(self.rotations[0][1].old)
        return next((head.key for head in self.heads), "")

    @property
    def last_key(self) -> str:
        """Fingerprint of the key that signs now; empty when nothing was signed."""
        if self.rotations:
            return _name_of(self.rotations[-1][1].new)
        return self.first_key


def signatures_of(branch_id: int) -> Signatures:
    """Read what was signed of a branch's log."""
    return Signatures(
        inside=heads_inside(branch_id),
        outside=tuple(outside_lines(branch_id)),
        rotations=tuple(rotations_of(branch_id)),
    )


def heads_inside(branch_id: int) -> tuple[Head, ...]:
    """The heads of a branch that the database keeps, in the order they were signed; one query."""
    rows = SignedHead.objects.filter(branch_id=branch_id).order_by("pk")
    return tuple(head_of(row) for row in rows)


def head_of(row: SignedHead) -> Head:
    """A row as what is signed of it."""
    return Head(
        branch=row.branch_id,
        size=row.size,
        root=row.root,
        at=instant(row.at),
        key=row.key_fingerprint,
        public_key=row.public_key,
        signature=row.signature,
    )


def rotations_of(branch_id: int) -> Iterator[tuple[int, Rotation]]:
    """The changes of the key with the number of their leaf, in order."""
    rows = LogEntry.objects.filter(branch_id=branch_id, kind=ROTATION_KIND).order_by("seq")
    for seq, leaf in rows.values_list("seq", "leaf"):
        try:
            said = json.loads(bytes(leaf))
        except ValueError:
            said = None
        yield seq, Rotation.from_payload(said.get("payload") if isinstance(said, dict) else None)


def head_differences(
    branch_id: int, signed: Signatures, chain: Chain, trusted: str = ""
) -> Iterator[Difference]:
    """What is wrong with the heads of a branch, the earliest size first.

    `trusted` is the fingerprint that must sign now; without one the keys that the log itself
    tells of are believed.
    """
    yield from _rotation_differences(branch_id, signed)
    for head in sorted(signed.inside, key=lambda one: one.size):
        yield from _one(head, signed, chain, f"signed head of {head.at}")
    yield from _outside_differences(branch_id, signed, chain)
    if trusted and signed.last_key and signed.last_key != trusted:
        yield Difference(
            f"The log is signed by the key {signed.last_key[:16]}, and the key to be trusted is "
            f"{trusted[:16]}.",
            to_do=WRONG_KEY,
        )


def _rotation_differences(branch_id: int, signed: Signatures) -> Iterator[Difference]:
    last = signed.first_key
    for seq, rotation in signed.rotations:
        if not (rotation.is_sound and rotation.branch == branch_id):
            sentence = f"Leaf {seq}: the change of the key is not signed by both keys."
            yield Difference(sentence, seq=seq)
        elif fingerprint(rotation.old) != last:
            yield Difference(f"Leaf {seq}: the key it changes was not the key then.", seq=seq)
        last = _name_of(rotation.new)


def unvouched(signed: Signatures) -> tuple[str, ...]:
    """A sentence for each change of the key that the old key did not sign, since it was lost."""
    return tuple(
        f"Signed from leaf {seq} on by the key {_name_of(one.new)[:16]}, a key the old one did not "
        f"vouch for: it is said to be lost since {one.lost_since}. What was signed before stands "
        "by the heads kept elsewhere."
        for seq, one in signed.rotations
        if one.lost_since
    )


def _name_of(public_key: str) -> str:
    try:
        return fingerprint(public_key)
    except ValueError:
        return "not readable"


def _one(head: Head, signed: Signatures, chain: Chain, name: str) -> Iterator[Difference]:
    if not head.is_sound:
        yield Difference(
            f"The signature of the {name} over {head.size} leaves does not hold.",
            to_do=COMPARE_HEAD,
        )
    elif head.key != _expected_key(head.size, signed):
        sentence = f"The {name} over {head.size} leaves is signed by the wrong key."
        yield Difference(sentence, to_do=COMPARE_HEAD)
    elif chain.difference is None and head.size > chain.size:
        sentence = f"A {name} counts {head.size} leaves and {chain.size} are here."
        yield Difference(sentence, to_do=CUT, seq=chain.size)
    elif head.root != chain.roots.get(head.size, head.root):
        yield Difference(
            f"The {name} over {head.size} leaves has another root: {_where(head, signed, chain)}.",
            to_do=WRITTEN_TO,
        )


def _expected_key(size: int, signed: Signatures) -> str:
    readable = [(seq, one) for seq, one in signed.rotations if _name_of(one.new) != "not readable"]
    return key_at(size, signed.first_key, readable)


def _where(head: Head, signed: Signatures, chain: Chain) -> str:
    """Between which heads the leaves were changed."""
    sizes = [one.size for one in signed.heads if one.root == chain.roots.get(one.size)]
    good = max((size for size in sizes if size < head.size), default=0)
    last = head.size - 1
    return (
        f"leaf {good} was changed" if good == last else f"of leaves {good} to {last} some changed"
    )


def _outside_differences(branch_id: int, signed: Signatures, chain: Chain) -> Iterator[Difference]:
    path, inside = outside_path(branch_id), {one.signature for one in signed.inside}
    for line in signed.outside:
        name = f"head on line {line.number} of {path.name}"
        if line.head is None:
            sentence = f"Line {line.number} of {path.name} is not a signed head."
            yield Difference(sentence, to_do=TORN)
            continue
        if line.head.branch != branch_id:
            yield Difference(f"The {name} is of another log.", to_do=COMPARE_HEAD)
            continue
        found = list(_one(line.head, signed, chain, name))
        yield from found
        if not found and line.head.signature not in inside:
            sentence = f"The {name} over {line.head.size} leaves is not in the database."
            yield Difference(sentence, to_do=CUT)


def newest(heads: Iterable[Head]) -> Head | None:
    """The head over the most leaves, the latest of them."""
    return max(heads, key=lambda one: (one.size, one.at), default=None)


def sizes_of(signed: Signatures) -> Sequence[int]:
    """The sizes whose roots are asked for."""
    return [head.size for head in signed.heads]
