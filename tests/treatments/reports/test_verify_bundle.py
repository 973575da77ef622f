"""The script of the bundle by itself: published vectors, and our own code beside it."""

from __future__ import annotations

import ast
import hashlib
import sys
from pathlib import Path

import pytest
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.treatments.rules.tree_vectors import CONSISTENCY, INCLUSION, LEAF_HASHES, ROOTS
from treatments.reports import verify_bundle as script
from treatments.rules.signed_heads import signature_holds

# RFC 8032 7.1, from memory: secret key, public key, message, signature. The keys and signatures
# are made again below by another implementation, which confirms them.
VECTORS = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        hashlib.sha512(b"abc").hexdigest(),
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
)


@pytest.mark.parametrize(("secret", "public", "message", "signature"), VECTORS)
def test_rfc_8032_section_7_1(secret: str, public: str, message: str, signature: str) -> None:
    key, text = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret)), bytes.fromhex(message)
    assert key.sign(text).hex() == signature
    assert key.public_key().public_bytes_raw().hex() == public
    signed = bytes.fromhex(signature)
    assert script.signature_holds(bytes.fromhex(public), text, signed)
    assert not script.signature_holds(bytes.fromhex(public), text + b"\0", signed)
    for spot in range(0, 512, 37):
        changed = bytearray(signed)
        changed[spot // 8] ^= 1 << spot % 8
        assert not script.signature_holds(bytes.fromhex(public), text, bytes(changed))


def test_a_second_form_of_a_signature_is_refused() -> None:
    """RFC 8032 5.1.7: S must be below the order, or every signature would have a twin."""
    _, public, message, signature = VECTORS[1]
    scalar = int.from_bytes(bytes.fromhex(signature)[32:], "little") + script.ORDER
    twin = bytes.fromhex(signature)[:32] + scalar.to_bytes(32, "little")
    assert not script.signature_holds(bytes.fromhex(public), bytes.fromhex(message), twin)


@settings(max_examples=25, deadline=None)
@given(
    st.binary(min_size=32, max_size=32), st.binary(max_size=60), st.binary(min_size=64, max_size=64)
)
def test_it_agrees_with_the_other_implementation(seed: bytes, text: bytes, other: bytes) -> None:
    key = Ed25519PrivateKey.from_private_bytes(seed)
    public = key.public_key().public_bytes_raw()
    assert script.signature_holds(public, text, key.sign(text))
    for signature in (other, key.sign(text + b"x"), b""):
        expected = signature_holds(public.hex(), text, signature.hex())
        assert script.signature_holds(public, text, signature) == expected


@pytest.mark.parametrize(("index", "size", "path"), INCLUSION)
def test_published_inclusion(index: int, size: int, path: tuple[str, ...]) -> None:
    leaf, root = bytes.fromhex(LEAF_HASHES[index]), bytes.fromhex(ROOTS[size])
    proof = script.hexes(list(path))
    assert script.included(leaf, index, size, proof, root)
    assert not script.included(leaf, index, size, [*proof, root], root)
    assert not script.included(leaf, size, size, proof, root)
    assert not script.included(root if size > 1 else b"", index, size, proof, root)


@pytest.mark.parametrize(("old", "new", "path"), CONSISTENCY)
def test_published_consistency(old: int, new: int, path: tuple[str, ...]) -> None:
    was, now = bytes.fromhex(ROOTS[old]), bytes.fromhex(ROOTS[new])
    proof = script.hexes(list(path))
    assert script.consistent(old, new, was, now, proof)
    assert not script.consistent(old, new, was, now, [*proof, now])
    assert not script.consistent(old, new, b"\0" * 32, now, proof)
    if old != new:
        assert not script.consistent(old, new, now, was, proof)
        assert not script.consistent(old, new, was, now, proof[:-1])


plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(st.dictionaries(st.text(), plain))
def test_its_canonical_form_is_rfc_8785(value: dict[str, object]) -> None:
    assert script.canonical(value) == rfc8785.dumps(value)  # type: ignore[arg-type]


def test_a_fraction_is_no_part_of_a_leaf() -> None:
    with pytest.raises(script.Differs):
        script.canonical({"amount": 1.5})


def test_it_needs_the_standard_library_alone() -> None:
    tree = ast.parse(Path(script.__file__).read_text())
    names = {
        alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    names |= {
        (node.module or "").split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
    }
    assert names <= set(sys.stdlib_module_names)
