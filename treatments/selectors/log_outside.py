"""The signed heads outside the database: one file a branch, one line a head, only ever added to."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from treatments.rules.signed_heads import Head


@dataclass(frozen=True)
class OutsideLine:
    """One line of the file: its number from 1, and the head on it (None: not readable)."""

    number: int
    head: Head | None


def outside_path(branch_id: int) -> Path:
    """Where the heads of a branch stand outside the database (`LOG_HEADS_DIR`)."""
    return Path(settings.LOG_HEADS_DIR) / f"heads-of-branch-{branch_id}.jsonl"


def outside_lines(branch_id: int) -> list[OutsideLine]:
    """What stands outside, in the order it was written; nothing when there is no file."""
    path = outside_path(branch_id)
    return list(_lines(path)) if path.exists() else []


def _lines(path: Path) -> Iterator[OutsideLine]:
    for number, line in enumerate(path.read_bytes().split(b"\n"), start=1):
        if line:
            yield OutsideLine(number, _head(line))


def _head(line: bytes) -> Head | None:
    try:
        said = json.loads(line)
        return Head.from_line(said) if isinstance(said, dict) else None
    except ValueError:
        return None
