"""Kinds of open items: their words and who must act; each floor declares those it opens.

A floor's `AppConfig` names its kinds as `item_kinds`; a code that none declares is the office's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from accounts.rules.notices import IN_DOUBT, NOT_SENT
from accounts.rules.register import RUNS_OUT


class Acts(StrEnum):
    """Who must act on a matter; anybody who may close it may still close it."""

    TECHNICIAN = "technician"
    OFFICE = "office"
    MANAGER = "manager"


ACTS_WORDS: Mapping[Acts, str] = {
    Acts.TECHNICIAN: "Technician",
    Acts.OFFICE: "Office",
    Acts.MANAGER: "Manager",
}


@dataclass(frozen=True)
class ItemKind:
    """One kind: its words, who must act, and the number of the check that opens it, if any."""

    words: str
    acts: Acts
    check: str = ""

    @property
    def acts_word(self) -> str:
        return ACTS_WORDS[self.acts]


KINDS: Mapping[str, ItemKind] = {
    RUNS_OUT: ItemKind("Runs out", Acts.OFFICE),
    IN_DOUBT: ItemKind("Notice in doubt", Acts.OFFICE, "A15"),
    NOT_SENT: ItemKind("Notice not sent", Acts.OFFICE, "A15"),
}


def undeclared(code: str) -> ItemKind:
    """`stock_below_zero` is Stock below zero."""
    return ItemKind(code.replace("_", " ").capitalize(), Acts.OFFICE)
