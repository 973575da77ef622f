"""What stands on the sheet of what was in force on a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

HEADER = (
    "Kind",
    "Holder",
    "Branch",
    "Paper",
    "Number",
    "State",
    "Categories",
    "In force from",
    "In force through",
    "In charge, trainer or issuer",
)


@dataclass(frozen=True)
class InForce:
    """One paper in force on the day; `answers` is who is in charge, trained or issued it."""

    kind: str
    holder: str
    branch: str
    paper: str
    number: str
    state: str
    categories: str
    begins: date
    ends: date
    answers: str

    @property
    def cells(self) -> tuple[object, ...]:
        """The row of a table, days as days."""
        return tuple(vars(self).values())


@dataclass(frozen=True)
class RegisterSheet:
    """The papers in force `on` a day, by which branches, drawn when and for whom."""

    on: date
    branches: str
    rows: Sequence[InForce]
    drawn_at: datetime
    drawn_for: str
    is_demonstration: bool = False
