"""A question that a person answers on the spot, and what counts as its answer.

Every question is put so that "yes" is the safe answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.units import Amount, parse_amount, plain
from treatments.rules.products import Severity

LONGEST_ANSWER = 200
LONGEST_WORDS = 200  # of a question in a record
MOST_ANSWERS = 60
MOST_COUNTED = Decimal(9999)  # with FINEST and a unit it fits the column of an answer
FINEST = Decimal("0.001")
COUNTED = {
    "g": "g",
    **dict.fromkeys(("oz", "oz_wt", "ounces"), "oz_wt"),
    **dict.fromkeys(("lb", "lbs"), "lb"),
    **dict.fromkeys(("placement", "placements", "station", "stations", "each"), "each"),
}
ENCLOSED_CLAUSE = "Enclosed work: common practice, no source"


class Answer(StrEnum):
    """What may be answered to a question that is not about times and names."""

    YES = "yes"
    NO = "no"
    NOT_APPLICABLE = "not_applicable"


ANSWER_WORDS = {
    Answer.YES: "Yes",
    Answer.NO: "No",
    Answer.NOT_APPLICABLE: "Does not apply",
}


@dataclass(frozen=True)
class Question:
    """One question: what a "no" means, what to do then, where it comes from.

    `quote` is what the label says word for word, where the question cannot say it.

    `is_text` asks for times or a name, which are known only when the work is done;
    `is_amount` for a weight or a count,
    `is_count` for a count alone; `is_of_label` comes from a limit of the label.
    """

    code: str
    words: str
    if_no: str = ""
    to_do: str = ""
    clause: str = ENCLOSED_CLAUSE
    severity: Severity = Severity.REFUSE
    may_not_apply: bool = False
    is_text: bool = False
    is_amount: bool = False
    is_count: bool = False
    is_of_label: bool = False
    quote: str = ""

    @property
    def quoted(self) -> str:
        """The label: and its words; empty where the question says it all."""
        return f"The label: {self.quote}" if self.quote else ""

    @property
    def whole(self) -> str:
        """The question with the label's own words after it."""
        return " ".join(part for part in (self.words, self.quoted) if part)

    @property
    def kept(self) -> str:
        """The question as a record keeps it: with the label's words where both fit."""
        return self.whole if len(self.whole) <= LONGEST_WORDS else self.words

    @property
    def is_written(self) -> bool:
        """Whether it is answered in writing, and only when the work is done."""
        return self.is_text or self.is_amount

    @property
    def answers(self) -> list[tuple[str, str]]:
        """Value and words of what may be ticked."""
        return [
            (answer.value, words)
            for answer, words in ANSWER_WORDS.items()
            if self.may_not_apply or answer != Answer.NOT_APPLICABLE
        ]

    def said(self, answer: str) -> str:
        """An answer in words; a text as it was written."""
        return answer if self.is_text else answer_words(answer)


def answer_words(answer: str) -> str:
    """A kept answer in words: yes, no, does not apply, or an amount."""
    if answer in list(Answer):
        return ANSWER_WORDS[Answer(answer)]
    amount = amount_of(answer)
    if amount.unit != "each":
        return str(amount)
    return f"{plain(amount.value)} placement{'' if amount.value == 1 else 's'}"


def amount_of(answer: str) -> Amount:
    """A count or weight that a person wrote, as it is kept too: 12 g, 0.5 oz, 3 placements.

    Refused: no number, no unit unless it is zero, parts of a placement, more than can be kept.
    """
    text, _, unit = answer.strip().partition(" ")
    named = COUNTED.get(unit.strip().lower().rstrip("."))
    if named is None and not (unit == "" and text.strip("0.") == ""):
        raise Refused("bait_amount", f"Write the number and g, oz, lb or placements: {answer[:20]}")
    amount = parse_amount(text, named or "each", at_most=MOST_COUNTED)
    too_fine = amount.value != amount.value.quantize(FINEST)
    if too_fine or (amount.unit == "each" and amount.value % 1):
        raise Refused("bait_amount", f"Write fewer decimals: {answer[:20]}")
    return amount


def kept_answer(question: Question, answer: str) -> str:
    """An answer as a row of the record keeps it: nothing of a text, 0.5 oz_wt of an amount."""
    if question.is_text:
        return ""
    if not question.is_amount:
        return answer
    amount = amount_for(question, answer)
    return f"{plain(amount.value)} {amount.unit}"


def amount_for(question: Question, answer: str) -> Amount:
    """The amount answered to a question; a count needs no unit, and is refused as a weight."""
    is_bare = question.is_count and answer.strip().isascii() and answer.strip().isdigit()
    amount = amount_of(f"{answer.strip()} placements" if is_bare else answer)
    if question.is_count and amount.unit != "each":
        raise Refused("bait_amount", f"Write how many placements, a number: {answer[:20]}")
    return amount
