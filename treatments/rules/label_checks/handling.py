"""What a label asks of the work itself: agitation, water, run-off; said with the mix and record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from sites.rules.units import plain
from treatments.rules.label_checks.facts import LabelLimit
from treatments.rules.label_questions import SAID
from treatments.rules.products import (
    COMPARISON_WORDS,
    LIMIT_FACT_WORDS,
    Comparison,
    LimitFact,
)

# their words of the label are shown beside a mix, whoever answers for them
SHOWN = frozenset({*SAID, LimitFact.HIGH_RATE_ONLY, LimitFact.ROTATION, LimitFact.SURFACE_SHARE})
UNDERSTOOD = frozenset({LimitFact.AGITATION, LimitFact.HIGH_RATE_ONLY, LimitFact.ROTATION})


@dataclass(frozen=True)
class Handling:
    """One thing the label asks, in words, and label and page."""

    words: str
    clause: str


def said_words(row: LabelLimit) -> str:
    """pH of the water at most 7: and the label's sentence."""
    name = LIMIT_FACT_WORDS[row.fact].partition(" (")[0]
    bound = COMPARISON_WORDS[row.comparison].lower()
    if row.comparison in (Comparison.AT_MOST, Comparison.AT_LEAST):
        bound = f"{bound} {plain(row.limit or Decimal(0))}"
    told = name if row.fact in UNDERSTOOD else f"{name}, {bound}"
    return f"{told}: {row.sentence}" if row.sentence else told


def handling(rows: Iterable[LabelLimit]) -> tuple[Handling, ...]:
    """What the label asks of the work, in the order of its rows."""
    return tuple(Handling(said_words(row), row.clause) for row in rows if row.fact in SHOWN)


def agitation_steps(rows: Iterable[LabelLimit]) -> tuple[str, ...]:
    """The label's words on agitation as steps of filling, each with its page."""
    return tuple(
        f"Agitation: {row.sentence} ({row.clause})"
        for row in rows
        if row.fact == LimitFact.AGITATION
    )


def with_agitation(steps: tuple[str, ...], agitation: tuple[str, ...]) -> tuple[str, ...]:
    """The order of filling with agitation after its last step; nothing where nothing is filled."""
    return (*steps, *agitation) if steps else ()
