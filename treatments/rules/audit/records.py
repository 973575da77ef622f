"""Every check of one entry together."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from treatments.rules.audit import kinds, names, products
from treatments.rules.audit.facts import RecordFacts
from treatments.rules.audit.judged import judged

CHECKS: Mapping[str, Callable[[RecordFacts], str]] = {
    kinds.NUMBER: products.registration,
    kinds.AMOUNT: products.amount,
    kinds.AMOUNTS: products.strength,
    kinds.SIZE: products.size,
    kinds.NAME: names.names,
}


def audit(facts: RecordFacts) -> dict[str, str]:
    """What is wrong with one entry: the sentence of each item, by its code.

    A rate that could not be checked because nothing was measured is said once, as the missing size.
    """
    found = judged(facts)
    found |= {code: said for code, check in CHECKS.items() if (said := check(facts))}
    if kinds.SIZE in found:
        found.pop(kinds.RATE, None)
    return {code: f"{facts.about}: {said}" for code, said in found.items()}
