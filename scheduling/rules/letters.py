"""A letter to a customer about a visit, as it is drawn on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduling.rules.prep import PrepItem


@dataclass(frozen=True)
class Letter:
    """One sheet: who it is from and to, what is said, what to prepare, what is still to do.

    `facts` are lines of a label and its words; `as_of` is on the clock of the branch.
    """

    title: str
    firm: str
    phone: str
    after_hours: str
    to_name: str
    address: str
    opening: str
    facts: tuple[tuple[str, str], ...]
    items: tuple[PrepItem, ...]
    tasks: tuple[str, ...]
    as_of: datetime
    demo: bool

    @property
    def closing(self) -> str:
        """Whom to call."""
        later = f", after hours {self.after_hours}" if self.after_hours else ""
        return f"If anything does not suit you, call us at {self.phone or 'our office'}{later}."
