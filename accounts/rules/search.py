"""One row of what a search found, on any floor."""

from __future__ import annotations

from dataclasses import dataclass

FEWEST_LETTERS = 2
MOST_ROWS = 20
MOST_WORDS = 6
FEWEST_DIGITS = 4


@dataclass(frozen=True)
class SearchRow:
    """What was found: its name, what tells it from others, where it is, what it is."""

    label: str
    detail: str
    url: str
    kind: str


def words_of(text: str) -> list[str]:
    """The words to look for, none when fewer than two letters were typed; six at most."""
    typed = text.strip()
    return typed.replace(",", " ").split()[:MOST_WORDS] if len(typed) >= FEWEST_LETTERS else []


def phone_digits(text: str) -> str:
    """The digits of something typed like a telephone number, else nothing.

    Letters make it something else, and fewer than four digits would find everybody.
    """
    digits = "".join(mark for mark in text if mark in "0123456789")
    plain = not any(mark.isalpha() for mark in text)
    return digits if plain and len(digits) >= FEWEST_DIGITS else ""
