"""Is it a place the label lets it be used in: vacant, a school; judged from what is entered.

What is entered about units is a fact of the property and outweighs an answer; that the customer
has a school's coordinator says that a school is among their properties, and an answer settles it.
"""

from __future__ import annotations

from sites.rules.places import SITE_WORDS, SiteKind, is_school
from treatments.rules.label_checks.facts import Judgement, ProposedUse
from treatments.rules.products import LimitFact, Severity
from treatments.rules.questions import Answer, Question

OCCUPIED = "Choose another product. If the unit is empty, enter it so at the property first."
NOT_HERE = "Choose a product whose label allows it, or correct the kind of site at the property."
COORDINATOR = "The customer has a school IPM coordinator."


def known_of_site(question: Question, answer: str, use: ProposedUse) -> Judgement | None:
    """What the entered facts say to a question about the place; None where they say nothing."""
    if question.code == LimitFact.VACANT_ONLY:
        return _vacant(question, answer, use)
    if question.code in (LimitFact.SCHOOL, LimitFact.SCHOOL_HOURS):
        return _school(question, answer, use)
    return None


def _vacant(question: Question, answer: str, use: ProposedUse) -> Judgement | None:
    units, code, clause = use.units_occupied, question.code, question.clause
    if units and all(units):
        sentence = "Every unit of this property is entered as occupied."
        return Judgement(code, question.severity, f"{sentence} {question.quoted}", clause, OCCUPIED)
    if units and not any(units) and not answer:
        sentence = "Every unit of this property is entered as vacant"
        return Judgement(code, Severity.NOTE, sentence, clause)
    return None


def _school(question: Question, answer: str, use: ProposedUse) -> Judgement | None:
    """The kind of site that is entered settles it; its hours it does not know.

    Where no kind is entered a coordinator speaks for a school until somebody answers.
    """
    entered = is_school(use.site_kind)
    if entered is not None:
        return _entered(question, answer, use, is_one=entered)
    if not use.is_school or answer in list(Answer):
        return None
    sentence = f"{COORDINATOR} Not answered: {question.words}"
    to_do = "Answer it before mixing; if it is a school, choose another product or another time."
    return Judgement(question.code, question.severity, sentence, question.clause, to_do)


def _entered(
    question: Question, answer: str, use: ProposedUse, *, is_one: bool
) -> Judgement | None:
    """What the kind of site says; of a school's hours somebody must answer."""
    said = f"This property is entered as: {SITE_WORDS[SiteKind(use.site_kind)].lower()}."
    if not is_one:
        return Judgement(question.code, Severity.NOTE, said.removesuffix("."), question.clause)
    if question.code == LimitFact.SCHOOL_HOURS and answer:
        return None
    sentence = f"{said} {question.quoted}".strip()
    return Judgement(question.code, question.severity, sentence, question.clause, NOT_HERE)


def is_settled(code: str, site_kind: str) -> bool:
    """Whether the kind of site answers a question, so that nobody is asked."""
    entered = is_school(site_kind)
    if code == LimitFact.SCHOOL:
        return entered is not None
    return code == LimitFact.SCHOOL_HOURS and entered is False
