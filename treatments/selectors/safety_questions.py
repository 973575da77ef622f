"""The safety questions of a use, each with what was answered."""

from __future__ import annotations

from sites.rules.places import PestGroup, Place
from treatments.models import LabelUse
from treatments.rules.label_checks.safety import asked
from treatments.rules.label_checks.use_sites import is_settled
from treatments.rules.products import Method
from treatments.rules.questions import Question
from treatments.rules.safety_questions import answer_of
from treatments.selectors.label_facts import label_facts
from treatments.selectors.whole import Setting, together


def answered(setting: Setting, use: LabelUse) -> tuple[tuple[Question, str], ...]:
    """What the use asks, in order, with the answers; what it does not ask, or the
    kind of site settles, is left out.

    Refused: an answer that is none of the choices.
    """
    answers = dict(setting.answers)
    return tuple(
        (question, answer_of(question, answers.get(question.code, "")))
        for question in _questions(setting, use)
        if not is_settled(question.code, setting.place.site_kind)
    )


def given(setting: Setting, use: LabelUse) -> dict[str, str]:
    """The answers by code, as the label check takes them."""
    return {question.code: answer for question, answer in answered(setting, use) if answer}


def written(setting: Setting, use: LabelUse) -> dict[str, str]:
    """Answers in somebody's own words, times and names, by code."""
    pairs = answered(setting, use)
    return {question.code: answer for question, answer in pairs if question.is_text}


def _questions(setting: Setting, use: LabelUse) -> tuple[Question, ...]:
    places = {Place(part.zone.place) for part in setting.parts}
    groups = {PestGroup(pest.group) for pest in setting.pests}
    space = together(setting.parts, "ft3")
    return asked(
        label_facts(use),
        Method(setting.method),
        places,
        space,
        groups,
        is_high_rate=setting.is_high_rate,
    )
