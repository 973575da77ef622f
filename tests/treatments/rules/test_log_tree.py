"""RFC 9162 trees: published vectors, proofs that must fail, and the growing frontier."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.treatments.rules import tree_by_definition as defined
from tests.treatments.rules.tree_by_definition import consistency_proof, inclusion_proof, root
from tests.treatments.rules.tree_vectors import (
    CONSISTENCY,
    INCLUSION,
    LEAF_HASHES,
    LEAF_INPUTS,
    ROOTS,
)
from treatments.rules.log_proofs import Tree
from treatments.rules.log_tree import (
    Frontier,
    consistency_holds,
    inclusion_holds,
    leaf_hash,
    node_hash,
    split,
)

LEAVES = [leaf_hash(bytes.fromhex(text)) for text in LEAF_INPUTS]


def hexes(hashes: list[bytes]) -> tuple[str, ...]:
    return tuple(one.hex() for one in hashes)


def test_published_leaves() -> None:
    assert hexes(LEAVES) == LEAF_HASHES


def test_hasher_vectors() -> None:
    """rfc6962/rfc6962_test.go of the same repository."""
    assert leaf_hash(b"L123456").hex() == (
        "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    )
    assert node_hash(b"N123", b"N456").hex() == (
        "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"
    )


@pytest.mark.parametrize("size", range(9))
def test_published_roots(size: int) -> None:
    frontier = Frontier()
    for leaf in LEAVES[:size]:
        frontier = frontier.append(leaf)
    assert root(LEAVES[:size]).hex() == frontier.root.hex() == ROOTS[size]
    assert Tree.of(LEAF_HASHES[:size]).root.hex() == ROOTS[size]


@pytest.mark.parametrize(("index", "size", "path"), INCLUSION)
def test_published_inclusion(index: int, size: int, path: tuple[str, ...]) -> None:
    proof = Tree.of(LEAF_HASHES[:size]).inclusion_proof(index)
    assert hexes(proof) == path
    assert inclusion_holds(LEAVES[index], index, size, proof, bytes.fromhex(ROOTS[size]))


@pytest.mark.parametrize(("old", "new", "path"), CONSISTENCY)
def test_published_consistency(old: int, new: int, path: tuple[str, ...]) -> None:
    proof = Tree.of(LEAF_HASHES[:new]).consistency_proof(old)
    assert hexes(proof) == path
    roots = bytes.fromhex(ROOTS[old]), bytes.fromhex(ROOTS[new])
    assert consistency_holds(old, new, *roots, proof)


def flipped(text: bytes, bit: int) -> bytes:
    spot = bit % (len(text) * 8)
    changed = bytearray(text)
    changed[spot // 8] ^= 1 << (spot % 8)
    return bytes(changed)


def tree(size: int) -> list[bytes]:
    return [leaf_hash(number.to_bytes(4)) for number in range(size)]


trees = st.integers(1, 70)
bits = st.integers(0, 10_000)


@given(st.lists(st.binary(max_size=8), max_size=70))
def test_frontier_is_the_whole_tree(entries: list[bytes]) -> None:
    frontier, leaves = Frontier(), []
    for entry in entries:
        leaves.append(leaf_hash(entry))
        frontier = frontier.append(leaves[-1])
    assert frontier.root == root(leaves)
    assert Frontier.from_hex(frontier.size, frontier.to_hex()) == frontier
    assert len(frontier.hashes) == len(entries).bit_count()


@given(st.data(), trees, bits)
def test_inclusion(data: st.DataObject, size: int, bit: int) -> None:
    leaves = tree(size)
    index = data.draw(st.integers(0, size - 1))
    proof, top = inclusion_proof(index, leaves), root(leaves)
    assert inclusion_holds(leaves[index], index, size, proof, top)
    assert not inclusion_holds(flipped(leaves[index], bit), index, size, proof, top)
    assert not inclusion_holds(leaves[index], index, size, proof, flipped(top, bit))
    assert not inclusion_holds(leaves[index], index, size, [*proof, top], top)
    if proof:
        changed = [flipped(proof[0], bit), *proof[1:]]
        assert not inclusion_holds(leaves[index], index, size, changed, top)
        assert not inclusion_holds(leaves[index], index, size, proof[:-1], top)
        other = data.draw(st.integers(0, size - 1).filter(lambda spot: spot != index))
        assert not inclusion_holds(leaves[index], other, size, proof, top)


@given(st.data(), trees, bits)
def test_consistency(data: st.DataObject, size: int, bit: int) -> None:
    leaves = tree(size)
    old = data.draw(st.integers(1, size))
    proof, was, now = consistency_proof(old, leaves), root(leaves[:old]), root(leaves)
    assert consistency_holds(old, size, was, now, proof)
    assert not consistency_holds(old, size, flipped(was, bit), now, proof)
    assert not consistency_holds(old, size, was, flipped(now, bit), proof)
    assert not consistency_holds(old, size, was, now, [*proof, now])
    if proof:
        assert not consistency_holds(old, size, now, was, proof)
        assert not consistency_holds(old, size, was, now, proof[:-1])
        spot = bit % len(proof)
        changed = [*proof[:spot], flipped(proof[spot], bit), *proof[spot + 1 :]]
        assert not consistency_holds(old, size, was, now, changed)


@given(trees, st.data())
def test_a_changed_past_has_no_proof(size: int, data: st.DataObject) -> None:
    honest = tree(size + 1)
    spot = data.draw(st.integers(0, size - 1))
    rewritten = [*honest[:spot], leaf_hash(b"rewritten"), *honest[spot + 1 :]]
    proof = consistency_proof(size, rewritten)
    assert not consistency_holds(size, size + 1, root(honest[:size]), root(rewritten), proof)


@pytest.mark.parametrize("size", range(1, 70))
def test_every_proof_is_the_one_of_the_definition(size: int) -> None:
    leaves = tree(size)
    ours = Tree(b"".join(leaves))
    assert ours.root == root(leaves)
    for place in range(size):
        assert ours.inclusion_proof(place) == inclusion_proof(place, leaves)
        assert ours.consistency_proof(place + 1) == consistency_proof(place + 1, leaves)
        assert ours.beginning(place).root == root(leaves[:place])


def test_the_definition_splits_as_we_do() -> None:
    assert [defined.split(size) for size in range(2, 200)] == [split(s) for s in range(2, 200)]


def test_outside_the_tree() -> None:
    top = root(LEAVES)
    assert not inclusion_holds(LEAVES[0], 8, 8, [], top)
    assert not inclusion_holds(LEAVES[0], -1, 8, [], top)
    assert not inclusion_holds(LEAVES[0], 1, 1, [], LEAVES[0])
    assert not consistency_holds(0, 8, root([]), top, [])
    assert not consistency_holds(8, 6, top, root(LEAVES[:6]), [])
    whole = Tree.of(LEAF_HASHES)
    for index in (-1, 8):
        with pytest.raises(IndexError):
            whole.inclusion_proof(index)
    for size in (-1, 9):
        with pytest.raises(IndexError):
            whole.consistency_proof(size)
        with pytest.raises(IndexError):
            whole.beginning(size)
    with pytest.raises(ValueError, match="whole number"):
        Tree(b"short")


@pytest.mark.parametrize(("size", "count"), [(3, 1), (2, 2), (-1, 0), (0, 1)])
def test_a_frontier_fits_its_size(size: int, count: int) -> None:
    with pytest.raises(ValueError, match="frontier"):
        Frontier(size, tuple(LEAVES[:count]))
