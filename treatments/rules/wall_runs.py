"""Which runs of a wall were treated, and why the others were left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.units import Amount, plain, unit_word


class LeftOut(StrEnum):
    """Why a run was left out (the list is ours)."""

    FENCE = "fence"
    DOG = "dog"
    LOCKED = "locked"
    WET = "wet"
    OTHER = "other"
    NOT_NEEDED = "not_needed"


LEFT_OUT_WORDS: Mapping[StrEnum, str] = {
    LeftOut.FENCE: "fence",
    LeftOut.DOG: "dog",
    LeftOut.LOCKED: "locked",
    LeftOut.WET: "wet",
    LeftOut.OTHER: "other reason, see the notes",
    LeftOut.NOT_NEEDED: "needs nothing",
}
# a wall that needs nothing is no run to be treated: take it off the zone (house rule)
WHY_A_RUN: Mapping[StrEnum, str] = {
    reason: words for reason, words in LEFT_OUT_WORDS.items() if reason != LeftOut.NOT_NEEDED
}
# what leaves nothing due: it was treated, or somebody said that it needs nothing
NOT_DUE: tuple[str, ...] = ("", LeftOut.NOT_NEEDED.value)


@dataclass(frozen=True)
class RunTold:
    """One run of a zone as it was that day; `reason` is empty where it was treated."""

    name: str
    length: str
    unit: str
    length_mm: int
    reason: str = ""

    @property
    def is_done(self) -> bool:
        return not self.reason

    @property
    def words(self) -> str:
        """north wall, 40 ft; a run left out with the reason."""
        size = f"{self.name}, {self.length} {unit_word(self.unit)}"
        return size if self.is_done else f"{size} (left out: {why_left_out(self.reason)})"


def why_left_out(reason: str) -> str:
    """The words of a reason; one that is not known any more as it is stored."""
    known = {one.value: words for one, words in LEFT_OUT_WORDS.items()}
    return known.get(reason, reason)


def runs_told(
    runs: Sequence[tuple[int, RunTold]], left_out: Sequence[tuple[int, str]], zone: str
) -> tuple[RunTold, ...]:
    """The runs of a zone by key, each treated or left out with its reason.

    Refused: a run of another zone, a reason that is none, nothing treated at all.
    """
    said, known = dict(left_out), dict(runs)
    if set(said) - set(known):
        raise Refused("runs", f"The runs of {zone} were changed meanwhile. Open the stop again.")
    if any(reason not in list(WHY_A_RUN) for reason in said.values()):
        raise Refused("runs", f"{zone}: choose from the list why a run was left out.")
    if known and set(said) == set(known):
        raise Refused("runs", f"Every run of {zone} was left out. Leave the zone out instead.")
    return tuple(
        RunTold(one.name, one.length, one.unit, one.length_mm, said.get(key, ""))
        for key, one in runs
    )


def length_done(runs: Sequence[RunTold]) -> Amount | None:
    """How long the runs treated are together; None where no run was left out."""
    if all(one.is_done for one in runs):
        return None
    lengths = [Decimal(one.length) for one in runs if one.is_done]
    return Amount(Decimal(plain(sum(lengths, Decimal(0)))), runs[0].unit)
