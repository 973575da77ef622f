"""Our key as the file holds it, and how somebody who sees truly would go through it."""

from __future__ import annotations

from sites.rules.identification.gain import questions
from sites.rules.identification.key_file import read_key
from sites.rules.identification.ranking import ranked, read_answers, remaining
from sites.services.identification_key import OURS

KEY = read_key(OURS.read_text(encoding="utf-8"))


def answers_in_order(code: str, most: int) -> list[list[str]]:
    """The answers after each question, the best question first."""
    taxon, answers, steps = KEY.taxa[code], [], []
    for _ in range(most):
        seen, _strange = read_answers(KEY, answers)
        trait = questions(KEY, seen, remaining(ranked(KEY, seen)))[0].trait
        known = taxon.traits.get(trait.code)
        answers = [*answers, f"{trait.code}.{sorted(known.values)[0] if known else 'unknown'}"]
        steps.append(answers)
    return steps
