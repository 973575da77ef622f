"""Whether a noncertified applicator is qualified for restricted use on a day.

40 CFR 171.201 (read, reference/regulations.md 1.1): the supervising certified applicator makes or
verifies a qualification record of each noncertified applicator: printed name and signature, the
day the requirement was met, the trainer's name, title or description of the training; for
agricultural-handler training the trainer or program. That the training must lie within the
previous twelve months is from memory, unverified: it warns and never blocks.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Basis(StrEnum):
    """What qualified somebody."""

    TRAINING = "training"
    HANDLER_TRAINING = "handler_training"


BASIS_WORDS = {
    Basis.TRAINING: "Training for noncertified applicators",
    Basis.HANDLER_TRAINING: "Agricultural-handler training",
}


class Qualified(StrEnum):
    """How somebody stands: no record at all, one that is over, one in force."""

    NO_RECORD = "no_record"
    OVER = "over"
    IN_FORCE = "in_force"


@dataclass(frozen=True)
class Training:
    """One qualification: the day the requirement was met and the last day it is taken to hold."""

    met_on: date
    valid_until: date

    @property
    def ends_on(self) -> date:
        """The last day it counts: what was entered, twelve months at the most."""
        return min(self.valid_until, a_year_after(self.met_on))


def a_year_after(day: date) -> date:
    """The same day a year later; February 28 for February 29."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


def newest(trainings: Collection[Training], on: date) -> Training | None:
    """The training met by a day that holds longest."""
    met = [one for one in trainings if one.met_on <= on]
    return max(met, key=lambda one: (one.ends_on, one.met_on), default=None)


def qualified(trainings: Collection[Training], on: date) -> Qualified:
    """How somebody stands on a day; training on the day itself counts, its last day too."""
    last = newest(trainings, on)
    if last is None:
        return Qualified.NO_RECORD
    return Qualified.IN_FORCE if on <= last.ends_on else Qualified.OVER
