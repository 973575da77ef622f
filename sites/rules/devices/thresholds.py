"""When what a device shows is a matter for somebody: numbers of the firm, house rule."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from accounts.refusals import Refused
from sites.rules.devices.entries import MOST_COUNTED
from sites.rules.devices.words import ALL_EATEN, EATEN_WORDS, FED_ON, KIND_WORDS

HOUSE_COUNT = 3  # of one pest in one device at one check; house rule
HOUSE_EATEN = 2  # quarters of the bait; house rule


@dataclass(frozen=True)
class Threshold:
    """From how many of a pest, and from how much bait eaten, a device of a kind is over.

    `pest_id` None is every pest without a row of its own; None in a limit: never over.
    """

    kind: str
    pest_id: int | None = None
    count_from: int | None = HOUSE_COUNT
    eaten_from: int | None = None


@dataclass(frozen=True)
class Found:
    """What the newest look at a device found; counts by pest with its name."""

    kind: str
    counts: Mapping[int, int]
    names: Mapping[int, str]
    eaten: int | None


def over_threshold(found: Found, rows: Collection[Threshold]) -> tuple[str, ...]:
    """What is over, in words; a pest's own row counts before that of every pest."""
    of_kind = {row.pest_id: row for row in rows if row.kind == found.kind}
    every = of_kind.get(None) or house_rule(found.kind)
    said = []
    for pest, number in found.counts.items():
        limit = of_kind.get(pest, every).count_from
        if limit is not None and number >= limit:
            said.append(f"{number} {found.names[pest]}, threshold {limit}")
    if found.eaten and every.eaten_from is not None and found.eaten >= every.eaten_from:
        eaten, from_ = (EATEN_WORDS[one].lower() for one in (found.eaten, every.eaten_from))
        said.append(f"{eaten} of the bait eaten, threshold {from_}")
    return tuple(said)


def house_rule(kind: str) -> Threshold:
    """What counts while the firm has set nothing for a kind."""
    return Threshold(kind, eaten_from=HOUSE_EATEN if kind in FED_ON else None)


def refuse_threshold(row: Threshold) -> None:
    """Refuse an unknown kind, no limit at all, a limit of no number, bait where there is none."""
    if row.kind not in KIND_WORDS:
        raise Refused("kind", "Choose the kind of device.", field="kind")
    if row.count_from is None and row.eaten_from is None:
        raise Refused("threshold", "Give a number or a part of the bait.", field="count_from")
    if row.count_from is not None and not 1 <= row.count_from <= MOST_COUNTED:
        sentence = f"A threshold is a number from 1 to {MOST_COUNTED}."
        raise Refused("threshold", sentence, field="count_from")
    if row.eaten_from is not None:
        _refuse_eaten(row, row.eaten_from)


def _refuse_eaten(row: Threshold, eaten: int) -> None:
    if not 1 <= eaten <= ALL_EATEN:
        raise Refused("threshold", "Choose 1/4, 1/2, 3/4 or all.", field="eaten_from")
    if row.kind not in FED_ON or row.pest_id is not None:
        sentence = "Bait eaten counts for every pest of a device that holds bait."
        raise Refused("threshold", sentence, field="eaten_from")
