"""May this person wear what the label asks for: a respirator needs papers of its kind."""

from __future__ import annotations

from accounts.rules.respirators import Papers, gaps, held
from treatments.rules.label_checks.facts import Judgement, LabelFacts, ProposedUse, cited
from treatments.rules.products import Severity
from treatments.rules.protective_equipment import Worn, worn

TO_DO = "Ask the office to enter the papers, or choose a product that needs no respirator."
ASK_KIND = "Read the label, and ask the certified applicator in charge which kind it means."


def respirators(facts: LabelFacts, use: ProposedUse) -> tuple[Worn, ...]:
    """What the label wants worn to breathe through for the tasks of a use."""
    return tuple(one for one in worn(facts.protections, use.tasks) if one.respirators)


def respirator(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Refuse for who has no clearance, fit test and cartridge date in force for its kind.

    Where the label names no kind that we know, papers of any kind warn.
    """
    return [_respirator(item, facts, use) for item in respirators(facts, use)]


def _respirator(item: Worn, facts: LabelFacts, use: ProposedUse) -> Judgement:
    clause = cited(facts.clause.rpartition(", ")[0], item.pages)
    asked, kinds = f"The label asks for: {item.item}", item.kinds
    papers = held(use.respirators, kinds, use.on)
    if papers is None:
        missing = " and ".join(gaps(use.respirators, kinds, use.on))
        sentence = f"{asked}; for you {missing}."
        return Judgement("respirator", Severity.REFUSE, sentence, clause, TO_DO)
    return _may_wear(asked, papers, clause, is_known=bool(kinds))


def _may_wear(asked: str, papers: Papers, clause: str, *, is_known: bool) -> Judgement:
    if is_known:
        sentence = f"{asked}; your papers hold for {papers.kind_words}"
        return Judgement("respirator", Severity.NOTE, sentence, clause)
    sentence = f"{asked}; no kind is named that we know, and your papers hold for"
    sentence = f"{sentence} {papers.kind_words}."
    return Judgement("respirator", Severity.WARN, sentence, clause, ASK_KIND)
