"""What the report of an inspection says, in words, without a way to draw it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SheetPhoto:
    """A photo as JPEG with its size in pixels."""

    content: bytes
    width: int
    height: int


@dataclass(frozen=True)
class SheetFinding:
    """One finding in words; `lines` are advice and what its gap lets in."""

    number: int
    words: str
    severity: str
    lines: tuple[str, ...]
    photos: tuple[SheetPhoto, ...] = ()


@dataclass(frozen=True)
class SheetTask:
    """One task in words."""

    words: str
    does: str
    due: str
    price: str
    state: str
    stays_open: str = ""


@dataclass(frozen=True)
class InspectionSheet:
    """Everything the report says."""

    number: int
    firm: str
    firm_lines: str
    customer: str
    address: str
    inspected: str
    inspector: str
    summary: str
    not_wood_destroying: str
    findings: tuple[SheetFinding, ...]
    tasks: tuple[SheetTask, ...]
    clear: tuple[str, ...]
    not_looked_at: tuple[str, ...]
    changes: tuple[str, ...]
    made: str
    demo: bool = False
