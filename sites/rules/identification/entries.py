"""What is typed about the key and about one identification, before it is a row."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from uuid import UUID

from accounts.refusals import Refused
from accounts.rules.lines import line

MOST_ANSWERS, LONGEST_ANSWER = 24, 80
LONGEST_MM = Decimal(2000)


@dataclass(frozen=True)
class NewTaxon:
    """An animal of the key; lengths in mm, `traits` are chosen value codes by trait code."""

    common_name: str
    kind: str
    scientific_name: str = ""
    description: str = ""
    advice: tuple[str, ...] = ()
    advice_text: str = ""
    needs_specimen: bool = False
    mm_low: Decimal | None = None
    mm_high: Decimal | None = None
    traits: Mapping[str, Sequence[str]] = field(default_factory=dict)
    source: str = ""


@dataclass(frozen=True)
class NewTrait:
    """A question of the key; `answers` are one a line."""

    name: str
    question: str
    help_text: str = ""
    answers: str = ""


@dataclass(frozen=True)
class NewIdentification:
    """One identification; `client_ref` is minted with the form and names it for good.

    `answers` are as they stand in the address (`legs.six`); an empty `taxon` is not settled.
    """

    client_ref: UUID
    answers: tuple[str, ...]
    taxon: str
    confidence: str
    zone_id: int | None = None
    found_where: str = ""
    specimen_kept: bool = False
    note: str = ""
    visit_ref: str = ""


def digest_of(new: NewIdentification, property_id: int) -> str:
    """SHA-256 of what was sent, the order of the answers left out of account."""
    facts = asdict(new) | {"answers": sorted(set(new.answers)), "property": property_id}
    text = json.dumps(facts, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def photo_names(keys: Iterable[int]) -> str:
    """The photos of an identification as the text that names them: their keys in a row."""
    return " ".join(map(str, keys))


def photo_keys(names: str) -> list[int]:
    """The keys in such a text; what is none is left out."""
    return [int(one) for one in names.split() if one.isdecimal()]


def refuse_sizes(low: Decimal | None, high: Decimal | None) -> None:
    """Refuse one length without the other, out of order, or of no animal; mm."""
    if low is None and high is None:
        return
    if low is None or high is None:
        raise Refused("size", "Give the shortest and the longest length.", field="mm_high")
    if not 0 < low <= high <= LONGEST_MM:
        sentence = f"Lengths run from over 0 to {LONGEST_MM} mm, the shortest first."
        raise Refused("size", sentence, field="mm_high")


def value_lines(typed: str, *, there: Sequence[str], least: int) -> tuple[str, ...]:
    """The answers typed one a line; refused: too few, too many, one twice, one too long."""
    words = tuple(
        line(one, field="answers", label="An answer", most=LONGEST_ANSWER)
        for one in typed.splitlines()
        if one.strip()
    )
    every = [one.casefold() for one in (*there, *words)]
    if len(words) < least:
        raise Refused("answers", f"Give at least {least} answers, one a line.", field="answers")
    if len(every) > MOST_ANSWERS:
        sentence = f"A question has {MOST_ANSWERS} answers at most."
        raise Refused("answers", sentence, field="answers")
    if len(set(every)) < len(every):
        raise Refused("answers", "Each answer stands once.", field="answers")
    return words
