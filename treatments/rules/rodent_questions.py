"""What is asked before and after rodenticide is placed.

House rules, no source; state bans and protected species are not verified here: a "no" warns.
"""

from __future__ import annotations

from collections.abc import Iterable

from sites.rules.places import PestGroup
from treatments.rules.products import Method, Severity
from treatments.rules.questions import Question, amount_for

CLAUSE = "Rodenticide: house rule, the label and the state govern"
BEFORE = (
    Question(
        "traps_first",
        "Were traps and sealing offered first?",
        "Traps and sealing were not offered first.",
        "Offer them; bait where they cannot reach.",
        CLAUSE,
        Severity.WARN,
    ),
    Question(
        "school_decided",
        "At a school or day care: did the certified applicator decide on the bait?",
        "Nobody certified has decided about bait at this school or day care.",
        "Ask the certified applicator in charge before you place it.",
        CLAUSE,
        Severity.WARN,
        may_not_apply=True,
    ),
    Question(
        "state_allows_bait",
        "Does the state allow this bait for this use?",
        "The state may not allow this bait here.",
        "Read the state's rule, or use traps.",
        CLAUSE,
        Severity.WARN,
    ),
    Question(
        "protected_species",
        "Are protected and other animals kept from the bait and from poisoned rodents?",
        "A protected or other animal may reach the bait or a poisoned rodent.",
        "Move the bait, or use traps.",
        CLAUSE,
        Severity.WARN,
    ),
)
AFTERWARDS = (
    Question(
        "bait_placements",
        "Placements filled, how many",
        clause=CLAUSE,
        is_amount=True,
        is_count=True,
    ),
    Question("bait_eaten", "Bait eaten since the last check", clause=CLAUSE, is_amount=True),
    Question("bait_spoiled", "Bait spoiled", clause=CLAUSE, is_amount=True),
    Question("bait_removed", "Bait removed", clause=CLAUSE, is_amount=True),
)
KNOWN_AFTERWARDS = frozenset(one.code for one in AFTERWARDS)


def rodent_questions(method: Method, groups: Iterable[PestGroup]) -> tuple[Question, ...]:
    """The questions of bait for rodents; what is placed is the amount of the record itself."""
    if method != Method.BAIT or PestGroup.RODENTS not in groups:
        return ()
    return (*BEFORE, *AFTERWARDS)


def refuse_amounts(answers: Iterable[tuple[str, str]]) -> None:
    """Refuse a count or weight of bait that cannot be read: it could never be added up."""
    asked = {question.code: question for question in AFTERWARDS}
    for code, answer in answers:
        if code in asked and answer.strip():
            amount_for(asked[code], answer)
