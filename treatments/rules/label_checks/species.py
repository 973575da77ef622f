"""Is it a species one treats at all: a house rule, it warns."""

from __future__ import annotations

from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Severity

CLAUSE = "House rule: beneficial species are left alone, some are referred"


def species(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A beneficial species is left alone; one that somebody else cares for is referred."""
    alone = [
        _species(f"{name} is beneficial.", "Leave it alone, or vacuum and seal.")
        for name in use.pests
        if name in use.beneficial
    ]
    referred = [
        _species(f"{name} is referred to a specialist.", "Call the office before you do anything.")
        for name in use.pests
        if name in use.referred
    ]
    return alone + referred


def _species(sentence: str, to_do: str) -> Judgement:
    return Judgement("species", Severity.WARN, sentence, CLAUSE, to_do)
