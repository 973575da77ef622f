"""May this person wear what the label asks for: a respirator needs papers."""

from __future__ import annotations

from accounts.rules.respirators import gaps
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Severity
from treatments.rules.protective_equipment import Worn, is_respirator, worn

TO_DO = "Ask the office to enter the papers, or choose a product that needs no respirator."


def respirator(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Refuse for who has no medical clearance, fit test and cartridge date in force."""
    items = worn(facts.protections, use.tasks)
    return [_respirator(item, facts, use) for item in items if is_respirator(item.item)]


def _respirator(item: Worn, facts: LabelFacts, use: ProposedUse) -> Judgement:
    label = facts.clause.rpartition(", ")[0]
    clause = ", ".join(part for part in (label, *item.pages) if part)
    missing = gaps(use.respirator, use.on)
    asked = f"The label asks for: {item.item}"
    if missing:
        sentence = f"{asked}; for you {' and '.join(missing)}."
        return Judgement("respirator", Severity.REFUSE, sentence, clause, TO_DO)
    sentence = f"{asked}; your medical clearance, fit test and cartridge hold."
    return Judgement("respirator", Severity.NOTE, sentence, clause)
