"""What a person answered on the spot, and what is no good against insects that overwinter."""

from __future__ import annotations

from collections.abc import Iterable

from sites.rules.places import PestGroup, Place
from sites.rules.units import Amount
from treatments.rules.label_checks.facts import Judgement, LabelFacts, LabelLimit, ProposedUse
from treatments.rules.label_checks.use_sites import known_of_site
from treatments.rules.label_questions import AskedRow, is_asked
from treatments.rules.products import LimitFact, Method, Severity
from treatments.rules.questions import Answer, Question
from treatments.rules.rodent_questions import KNOWN_AFTERWARDS as RODENT_AFTERWARDS
from treatments.rules.rodent_questions import rodent_questions
from treatments.rules.safety_questions import KNOWN_AFTERWARDS, questions

FOGGING_CLAUSE = "House rule: no fogging against insects that overwinter in attics and walls"
VOID_CLAUSE = "House rule: no insecticide into wall voids against overwintering insects"
AFTERWARDS = KNOWN_AFTERWARDS | RODENT_AFTERWARDS  # texts that only the record asks for
VOID_METHODS = frozenset({Method.VOID, Method.DUST, Method.FOAM, Method.SPACE})


def asked(
    facts: LabelFacts,
    method: Method,
    places: Iterable[Place],
    space: Amount | None,
    groups: Iterable[PestGroup] = (),
    *,
    is_high_rate: bool = False,
) -> tuple[Question, ...]:
    """The safety questions of one direction by a method at places against groups of pests.

    `space` when it was measured; `is_high_rate` asks for the label's condition of it.
    """
    limited = any(row.fact == LimitFact.SPACE_MAX for row in facts.limits)
    found = questions(
        method=method,
        places=places,
        formulation=facts.formulation,
        rows=(
            _asked_row(row, facts)
            for row in facts.limits
            if is_asked(row.fact, row.severity, is_high_rate=is_high_rate)
        ),
        is_volume_known=limited and space is not None,
    )
    return (*found, *rodent_questions(method, groups))


def _asked_row(row: LabelLimit, facts: LabelFacts) -> AskedRow:
    clause = row.clause or facts.clause
    return AskedRow(row.fact, row.comparison, row.limit, row.severity, clause, row.sentence)


def answers(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Every safety question with its answer; a "no" stops, no answer asks for one.

    What is entered about the property is judged with the answer (`use_sites`).
    """
    places = {zone.place for zone in use.zones}
    found = asked(
        facts,
        use.method,
        places,
        use.space,
        use.pests.values(),
        is_high_rate=use.is_high_rate,
    )
    return [_by_facts(question, use) for question in found]


def _by_facts(question: Question, use: ProposedUse) -> Judgement:
    answer = use.answers.get(question.code, "")
    return known_of_site(question, answer, use) or _answered(question, answer)


def _answered(question: Question, answer: str) -> Judgement:
    code, clause = question.code, question.clause
    if not answer:
        sentence = f"Not answered: {question.whole}"
        return Judgement(code, Severity.WARN, sentence, clause, "Answer it before mixing.")
    if question.is_text:
        # who cleared it is a personal value: it stands with the record, never in a judgement
        return Judgement(code, Severity.NOTE, f"{question.words}: answered", clause)
    if question.is_amount:
        return Judgement(code, Severity.NOTE, f"{question.words}: {answer}", clause)
    if answer == Answer.NO:
        sentence = " ".join(part for part in (question.if_no, question.quoted) if part)
        return Judgement(code, question.severity, sentence, clause, question.to_do)
    said = question.said(answer).lower()
    return Judgement(code, Severity.NOTE, f"{question.whole} Answered: {said}", clause)


def fogging(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A space treatment is never proposed for insects that overwinter in attics and walls.

    It does not reach them, and foggers burn (EPA's page on foggers and an extension
    field guide, reference/trade.md 4.5).
    """
    pests = _overwintering(use)
    if use.method != Method.SPACE or not pests:
        return []
    return [
        Judgement(
            "fogging",
            Severity.REFUSE,
            f"A space treatment does not reach {pests} in attics and walls.",
            FOGGING_CLAUSE,
            "Vacuum what comes out, seal the gaps, treat outside before they come in.",
        )
    ]


def wall_void(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Insects killed in a wall void draw carpet and larder beetles (reference/trade.md 4.5)."""
    pests = _overwintering(use)
    in_void = use.method == Method.VOID or any(zone.place == Place.VOID for zone in use.zones)
    if not pests or not in_void or use.method not in VOID_METHODS:
        return []
    return [
        Judgement(
            "wall_void",
            Severity.WARN,
            f"What dies of {pests} in a wall void draws carpet and larder beetles.",
            VOID_CLAUSE,
            "Vacuum what comes out; seal when the voids are empty.",
        )
    ]


def _overwintering(use: ProposedUse) -> str:
    return ", ".join(name for name, group in use.pests.items() if group == PestGroup.OVERWINTERING)
