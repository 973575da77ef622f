"""A task that keeps pests out, as typed, and how it may end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from hashlib import sha256
from uuid import UUID

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from sites.rules.sealing import Does, Material

HIGHEST_PRICE = Decimal("999999.99")
FOAM_NOTE = "Foam by itself is gnawed: mesh or cloth first where rodents are."


class EndingKind(StrEnum):
    """How a task ends."""

    DONE = "done"
    REFERRED = "referred"
    WITHDRAWN = "withdrawn"


ENDING_WORDS: Mapping[StrEnum, str] = {
    EndingKind.DONE: "Done",
    EndingKind.REFERRED: "Referred to a wildlife specialist",
    EndingKind.WITHDRAWN: "Withdrawn",
}


class AskHow(StrEnum):
    """How a customer was asked for a task."""

    NOTICE = "notice"
    REPORT = "report"
    TALK = "talk"
    LETTER = "letter"


ASK_WORDS: Mapping[StrEnum, str] = {
    AskHow.NOTICE: "On the notice of a visit",
    AskHow.REPORT: "In the inspection report",
    AskHow.TALK: "Spoken to",
    AskHow.LETTER: "Written to",
}


def chase_words(asked_on: Sequence[date]) -> str:
    """Asked 3 times, last on Nov 30, 2026; not asked yet."""
    if not asked_on:
        return "not asked yet"
    times = {1: "once", 2: "twice"}.get(len(asked_on), f"{len(asked_on)} times")
    return f"asked {times}, last on {short_day(max(asked_on), True)}"


@dataclass(frozen=True)
class NewTask:
    """A task as typed."""

    client_ref: UUID
    finding_id: int
    measure: str
    material: str
    does: str
    due_on: date
    price: Decimal | None = None
    words: str = ""

    @property
    def digest(self) -> str:
        """What tells the same form sent again from another one with the same number."""
        said = "\x1f".join(f"{name}={value}" for name, value in vars(self).items())
        return sha256(said.encode()).hexdigest()


def refuse_task(new: NewTask, today: date) -> None:
    """Refuse what is on no list, a day that is over, a price nobody asks."""
    if new.material not in list(Material):
        raise Refused("choice", "Choose the material from the list.", field="material")
    if new.does not in list(Does):
        raise Refused("choice", "Say who does it.", field="does")
    if new.due_on < today:
        raise Refused("due", "That day is over. Choose today or later.", field="due_on")
    if new.price is not None and not 0 <= new.price <= HIGHEST_PRICE:
        raise Refused("price", "A price is between 0 and 999,999.99.", field="price")
