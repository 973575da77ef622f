"""The bytes of a log leaf: canonical JSON (RFC 8785), digests in place of personal values."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256

from sites.rules.units import plain

SALT_BYTES = 32
LOAD, LOAD_REST = "load", "load_rest"  # the kinds of leaf that loads have
INCIDENT, INCIDENT_ADDENDUM = "incident", "incident_addendum"
PURGE = "purge"
MOST_WHOLE = 2**53 - 1  # RFC 8785 3.2.2.3: beyond it a reader may round
Plain = str | int | bool | None | list["Plain"] | dict[str, "Plain"]


# Strings escaped as RFC 8785 3.2.2.2 asks: the short escapes, \u00xx below a space, else as is.
_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def canonical_bytes(entry: Mapping[str, object]) -> bytes:
    """One byte string for one entry, whatever order its keys came in.

    Taken: text, whole numbers up to 2^53 - 1, true, false, null, lists and mappings of these.
    TypeError: a float, a Decimal (write `decimal_text`), a date or time (write `instant`).
    ValueError: a larger number, half a surrogate pair.
    """
    return _json(_plain(entry, "entry")).encode()


def _plain(value: object, where: str) -> Plain:
    if value is None or type(value) is str:  # most of a leaf
        return value
    if isinstance(value, str | int):
        return _exact_type(value, where)
    if isinstance(value, Mapping):
        keys = [_key(key, where) for key in value]
        # in ASCII the order of UTF-16 units is that of the letters
        keys.sort(key=None if "".join(keys).isascii() else _utf16)
        return {key: _plain(value[key], f"{where}.{key}") for key in keys}
    if isinstance(value, list | tuple):
        return [_plain(item, f"{where}[]") for item in value]
    raise TypeError(f"{where} is a {type(value).__name__}: a leaf takes text and whole numbers")


def _exact_type(value: str | int, where: str) -> Plain:
    """Enum members are written as their values."""
    if isinstance(value, str):
        return str.__str__(value)
    if isinstance(value, bool):
        return value
    if abs(value) > MOST_WHOLE:
        raise ValueError(f"{where} is {value}: a leaf takes whole numbers up to {MOST_WHOLE}")
    return int(value)


def _key(key: object, where: str) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{where} has the key {key!r}: keys of a leaf are text")
    return str.__str__(key)


def _utf16(key: str) -> bytes:
    """Keys stand in the order of their UTF-16 units (RFC 8785 3.2.3)."""
    return key.encode("utf-16-be")


def instant(at: datetime) -> str:
    """UTC with Z and microseconds; ValueError for a time without zone."""
    if at.tzinfo is None:
        raise ValueError("a time without zone has no instant")
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def decimal_text(value: Decimal) -> str:
    """A decimal without exponent and idle zeros; ValueError for NaN and infinity."""
    if not value.is_finite():
        raise ValueError(f"{value} is not an amount")
    return plain(value)


def personal_digest(field: str, value: str, salt: bytes) -> str:
    """Hex of SHA-256(salt || 00 || field || 00 || value); our own form.

    `salt` is 32 fresh random bytes; ValueError otherwise, or for a zero byte in `field`, which
    would let two field and value pairs give one digest.
    """
    if len(salt) != SALT_BYTES or "\x00" in field:
        raise ValueError("a salt has 32 bytes and a field name no zero byte")
    return sha256(b"\x00".join((salt, field.encode(), value.encode()))).hexdigest()


def kept_digest(field: str, value: object, salt: object) -> str:
    """`personal_digest` of what a table gives back, whatever it is; a sentence where it is none.

    The sentence is no hex, so that it never equals what a leaf says.
    """
    if not isinstance(salt, bytes | bytearray | memoryview) or not isinstance(value, str):
        return "not readable: no text or no salt"
    try:
        return personal_digest(field, value, bytes(salt))
    except ValueError:
        return f"not readable: a salt of {len(bytes(salt))} bytes, not {SALT_BYTES}"
