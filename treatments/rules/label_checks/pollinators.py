"""Bees at the property: who keeps them is told the day before."""

from __future__ import annotations

from sites.rules.places import INSIDE
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Method, Severity

CLAUSE = "House rule: keepers of bees are told the day before"


def keepers(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Work outside where bees are noted, bait excepted, asks for a word with their keeper."""
    outside = any(zone.place not in INSIDE for zone in use.zones)
    if not use.has_bees or not outside or use.method == Method.BAIT:
        return []
    return [
        Judgement(
            "bees",
            Severity.WARN,
            "Bees or hives are noted at this property.",
            CLAUSE,
            "Tell their keeper the day before, and treat when no bee flies.",
        )
    ]
