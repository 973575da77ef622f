"""What the paper of a record says, in words, without a way to draw it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RecordSheet:
    """A record in words: `marks` say what is not in force, `box` the items with what is missing.

    `strong` names the lines of the box that are missing; `parts` are headings with their rows.
    """

    number: int
    version: str
    firm: str
    as_of: str
    marks: tuple[str, ...]
    box: tuple[tuple[str, str], ...]
    strong: frozenset[str]
    parts: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    leaf: str
    demo: bool = False
