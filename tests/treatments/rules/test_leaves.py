"""Canonical leaf bytes (RFC 8785) and digests of personal values."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from hashlib import sha256

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.leaves import canonical_bytes, decimal_text, instant, personal_digest
from treatments.rules.products import Method

SALT = bytes(range(32))


def test_key_order_of_rfc_8785() -> None:
    """RFC 8785 3.2.3 sorts by UTF-16 units: the emoji comes before the ligature."""
    entry = {"ﬓ": 3, "😀": 2, "€": 1, "b": None, "a": [True, "é\n"]}
    expected = '{"a":[true,"é\\n"],"b":null,"€":1,"😀":2,"ﬓ":3}'
    assert canonical_bytes(entry) == expected.encode()


texts = st.text(st.characters(exclude_categories=["Cs"]))
whole_numbers = st.integers(-(2**53) + 1, 2**53 - 1)
trees = st.recursive(
    st.none() | st.booleans() | whole_numbers | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
)


@given(st.dictionaries(texts, trees))
def test_the_bytes_are_those_of_an_independent_implementation(entry: dict[str, object]) -> None:
    assert canonical_bytes(entry) == rfc8785.dumps(entry)


def test_every_character_of_the_first_plane_is_written_alike() -> None:
    every = "".join(chr(code) for code in range(0x10000) if not 0xD800 <= code < 0xE000)
    assert canonical_bytes({"x": every}) == rfc8785.dumps({"x": every})


@pytest.mark.parametrize("value", [2**53, -(2**53), "\ud800"])
def test_what_no_reader_could_trust_is_refused(value: object) -> None:
    with pytest.raises(ValueError):
        canonical_bytes({"x": value})


def test_words_are_written_as_values() -> None:
    assert canonical_bytes({"method": Method.PERIMETER_BAND}) == b'{"method":"perimeter_band"}'


@pytest.mark.parametrize(
    "value", [1.5, Decimal("1.5"), datetime(2026, 5, 12, tzinfo=UTC), b"x", {1, 2}, {"n": [0.1]}]
)
def test_refused_values(value: object) -> None:
    with pytest.raises(TypeError, match="entry"):
        canonical_bytes({"x": value})


def test_refused_keys() -> None:
    with pytest.raises(TypeError, match="keys of a leaf"):
        canonical_bytes({"x": {1: "a"}})


@given(st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), st.integers(-9, 9)))
def test_order_of_entry_does_not_count(entry: dict[str, int]) -> None:
    backwards = dict(reversed(entry.items()))
    assert canonical_bytes(entry) == canonical_bytes(backwards)


def test_instants_are_utc() -> None:
    ohio = timezone(timedelta(hours=-4))
    assert instant(datetime(2026, 5, 12, 8, 36, tzinfo=ohio)) == "2026-05-12T12:36:00.000000Z"
    with pytest.raises(ValueError, match="zone"):
        instant(datetime(2026, 5, 12, 8, 36))


def test_decimal_text() -> None:
    assert [decimal_text(Decimal(t)) for t in ("1.080", "1E+3", "0.00", "1E-7")] == [
        "1.08",
        "1000",
        "0",
        "0.0000001",
    ]
    with pytest.raises(ValueError, match="not an amount"):
        decimal_text(Decimal("NaN"))


def test_personal_digest() -> None:
    by_hand = sha256(SALT + b"\x00customer\x00" + "José Núñez".encode()).hexdigest()
    assert personal_digest("customer", "José Núñez", SALT) == by_hand
    assert personal_digest("contact", "José Núñez", SALT) != by_hand
    assert personal_digest("customer", "José Núñez", SALT[::-1]) != by_hand


@pytest.mark.parametrize(("field", "salt"), [("a\x00b", SALT), ("a", SALT[:31])])
def test_refused_digests(field: str, salt: bytes) -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        personal_digest(field, "value", salt)
