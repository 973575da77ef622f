"""The numbers of devices: typed as a list, printed as a code with a letter that finds slips."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from accounts.refusals import Refused

MOST_AT_ONCE = 200
HIGHEST = 9999
LONGEST_TYPED = 200
SHOWN = 5
PART = re.compile(r"([0-9]{1,9})(?:\s*-\s*([0-9]{1,9}))?")
CODE = re.compile(r"P([0-9]{1,18})-([0-9]{1,4})-([A-Z])")
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXY"  # 23, a prime; I, O and Z read like digits


@dataclass(frozen=True)
class DeviceLabel:
    """One label: the number, the kind, the property's code, the code that is typed, the firm."""

    number: int
    kind: str
    property_code: str
    code: str
    firm: str
    phone: str


def typed_numbers(text: str) -> tuple[int, ...]:
    """The numbers of `1-12, 14` in their order.

    Refused: nothing, what is no number, 0 or over 9999, one twice, a span that runs backwards,
    more than 200 at once.
    """
    parts = [part.strip() for part in text[: LONGEST_TYPED + 1].split(",") if part.strip()]
    if not parts or len(text) > LONGEST_TYPED:
        raise _wrong("Give the numbers like 1-12, 14.")
    found: list[int] = []
    for part in parts:
        first, last = _span(part)
        _refuse_many(len(found) + last - first + 1)
        found += range(first, last + 1)
    if len(set(found)) < len(found):
        raise _wrong("A number stands twice. Each device has a number of its own.")
    return tuple(found)


def _span(part: str) -> tuple[int, int]:
    match = PART.fullmatch(part)
    if match is None:
        raise _wrong(f'"{part[:20]}" is no number. Give the numbers like 1-12, 14.')
    first = int(match[1])
    last = int(match[2] or first)
    if last < first:
        raise _wrong(f"{part[:24]} runs backwards. Put the lower number first.")
    _refuse_many(last - first + 1)
    if not 1 <= first <= last <= HIGHEST:
        raise _wrong(f"A device has a number from 1 to {HIGHEST}.")
    return first, last


def _refuse_many(number: int) -> None:
    if number > MOST_AT_ONCE:
        raise _wrong(f"At most {MOST_AT_ONCE} devices are added at once. Add them in portions.")


def refuse_taken(numbers: Sequence[int], taken: Collection[int]) -> None:
    """Refuse numbers that the property has or had already."""
    twice = [number for number in numbers if number in taken]
    if twice:
        shown = ", ".join(map(str, twice[:SHOWN])) + (" and more" if len(twice) > SHOWN else "")
        raise _wrong(
            f"Used here already, in place or removed: {shown}. A number is never used again."
        )


def _wrong(sentence: str) -> Refused:
    return Refused("numbers", sentence, field="numbers")


def property_code(property_id: int) -> str:
    """What the label calls the property: `P00012`."""
    return f"P{property_id:05d}"


def device_code(property_id: int, number: int) -> str:
    """The text on the label: property, number and a letter that finds a wrong or swapped digit."""
    return f"{property_code(property_id)}-{number:04d}-{_letter(property_id, number)}"


def number_of(typed: str, property_id: int) -> int | None:
    """The number that somebody typed, by itself or as the code of this property; else None."""
    text = "".join(typed[:40].upper().split())
    if text.isascii() and text.isdigit():
        return int(text) if len(text) <= len(str(HIGHEST)) else None
    match = CODE.fullmatch(text)
    if match is None or int(match[1]) != property_id:
        return None
    number = int(match[2])
    return number if match[3] == _letter(property_id, number) else None


def _letter(property_id: int, number: int) -> str:
    digits = f"{property_id}{number:04d}"[::-1]
    total = sum(int(digit) * (place % (len(LETTERS) - 1) + 1) for place, digit in enumerate(digits))
    return LETTERS[total % len(LETTERS)]
