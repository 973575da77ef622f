"""Which names of people a record takes."""

from __future__ import annotations

import re

INITIAL = re.compile(r"[^\W\d_]\.?")
NAME_WORD = re.compile(r"[^\W\d_][^\W\d_'’.-]*(['’.-][^\W\d_]+)*\.?")


def full_name_ok(name: str) -> bool:
    """At least two whole words and no initial (Oregon Dept. of Agriculture, read)."""
    words = name.split()
    if len(words) < 2:
        return False
    return all(NAME_WORD.fullmatch(word) and not INITIAL.fullmatch(word) for word in words)
