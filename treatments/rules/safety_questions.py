"""What only a person on the spot can answer before product is put down, and how it is asked.

Space, attic, void and dust work: common practice, no source; a label's own rows bring their page.
Every question is put so that "yes" is the safe answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.places import Place
from sites.rules.units import Amount, parse_amount, plain
from treatments.rules.products import Comparison, Formulation, LimitFact, Method, Severity

LONGEST_ANSWER = 200
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
ENCLOSED_METHODS = frozenset({Method.SPACE, Method.VOID, Method.DUST})
ENCLOSED_PLACES = frozenset({Place.ATTIC, Place.VOID, Place.CRAWL_SPACE})


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


@dataclass(frozen=True)
class AskedRow:
    """A limit of a label that a person answers for; `limit` in the fact's own unit."""

    fact: LimitFact
    comparison: Comparison
    limit: Decimal | None
    severity: Severity
    clause: str


VOLUME = Question(
    "space_volume",
    "Is the volume of the space inside the label's maximum?",
    "The space is larger than the label allows.",
    "Measure the space; choose another product or method.",
    may_not_apply=True,
)
ENCLOSED = (
    Question(
        "people_out",
        "Are people and pets out, and kept out?",
        "People or pets are not out.",
        "Wait until everybody is out and the doors are posted.",
    ),
    Question(
        "aquaria_covered",
        "Are aquaria covered and their pumps off?",
        "An aquarium is not covered, or its pump runs.",
        "Cover it and switch the pump off, or carry it out.",
        may_not_apply=True,
    ),
    Question(
        "food_covered",
        "Are food, dishes and utensils covered or carried out?",
        "Food or utensils are not covered.",
        "Cover them or carry them out.",
        may_not_apply=True,
    ),
    Question(
        "ignition_off",
        "Are pilot lights and other ignition sources off?",
        "An ignition source is not off.",
        "Have it switched off, or choose a method that needs no propellant.",
        may_not_apply=True,
    ),
    Question(
        "air_handling_off",
        "Are fans, heating and air conditioning off?",
        "Air handling is not off.",
        "Switch it off and close the registers.",
        may_not_apply=True,
    ),
)
DUST = (
    Question(
        "breaker_off",
        "Is the breaker of the wiring you dust near off?",
        "The breaker is not off.",
        "Switch the breaker off and try it with a tester.",
        may_not_apply=True,
    ),
    Question(
        "no_live_outlets",
        "Is dust kept away from every live outlet?",
        "Dust would reach a live outlet.",
        "Leave the outlet out, or switch its breaker off first.",
    ),
    Question(
        "none_in_living_air",
        "Is none of the dust in the air that people breathe?",
        "Dust gets into living air.",
        "Close the openings, use less, or leave the place out.",
    ),
)
AFTERWARDS = (
    Question("closed_from_to", "Closed from and until", is_text=True),
    Question("aired_from_to", "Aired from and until", is_text=True),
    Question("cleared_by", "Who cleared it for entry, and when", is_text=True),
)
KNOWN_AFTERWARDS = frozenset(one.code for one in AFTERWARDS)

# the words asked, what a "no" means, what to do then; {} is the limit
OF_LABEL: dict[LimitFact, tuple[str, str, str]] = {
    LimitFact.RAIN_HOURS: (
        "Is no rain forecast for the next {} hours?",
        "Rain is forecast within {} hours.",
        "Ask the office to move the visit.",
    ),
    LimitFact.IN_BLOOM: (
        "Is nothing in bloom where the spray can land?",
        "Plants in bloom would be treated.",
        "Leave the part in bloom out, or come back after it.",
    ),
    LimitFact.BEES_FORAGING: (
        "Are no bees foraging here?",
        "Bees are foraging here.",
        "Come back when none are, or leave the part out.",
    ),
    LimitFact.HIVE_DISTANCE: (
        "Is every hive at least {} ft away?",
        "A hive is nearer than {} ft.",
        "Leave the part near the hive out and talk with its keeper.",
    ),
    LimitFact.TAMPER_RESISTANT: (
        "Is every placement in a tamper-resistant station?",
        "A placement is not in a tamper-resistant station.",
        "Put it into a station, or use traps there.",
    ),
    LimitFact.ANCHORED: (
        "Is every station anchored?",
        "A station is not anchored.",
        "Anchor it, or use traps there.",
    ),
    LimitFact.MARKED: (
        "Is every station marked as the label says?",
        "A station is not marked.",
        "Mark it before it is filled.",
    ),
    LimitFact.PLACEMENT_WEIGHT: (
        "Is every placement {} oz (wt)?",
        "A placement is not {} oz (wt).",
        "Weigh the placements and change them.",
    ),
    LimitFact.PLACEMENT_SPACING: (
        "Are the placements {} ft apart?",
        "Placements are not {} ft apart.",
        "Move them before they are filled.",
    ),
    LimitFact.BAITING_DAYS: (
        "Will the bait be taken up within {} days?",
        "The bait would lie longer than {} days.",
        "Book the day it is taken up.",
    ),
    LimitFact.CHECK_DAYS: (
        "Is the next check booked within {} days?",
        "No check is booked within {} days.",
        "Book the check before you leave bait.",
    ),
    LimitFact.CARCASSES: (
        "Is it settled who collects carcasses, and when?",
        "Nobody collects the carcasses.",
        "Settle it with the customer before you leave bait.",
    ),
    LimitFact.REENTRY_UNDERSTOOD: (
        "Have the occupants understood when they may come back?",
        "The occupants have not understood when they may come back.",
        "Tell them and leave it in writing.",
    ),
    LimitFact.FOOD_AREA_CLOSED: (
        "Is the food area not operating?",
        "The food area is operating.",
        "Come back when it is closed.",
    ),
}
BOUNDS = {Comparison.AT_MOST: "at most ", Comparison.AT_LEAST: "at least "}
WITH_BOUND = frozenset({LimitFact.PLACEMENT_WEIGHT, LimitFact.PLACEMENT_SPACING})


def questions(
    *,
    method: Method,
    places: Iterable[Place],
    formulation: Formulation | None,
    rows: Iterable[AskedRow] = (),
    is_volume_known: bool = False,
) -> tuple[Question, ...]:
    """What a use must ask, in the order of the work; times and names come last.

    `is_volume_known`: the space is measured and a row of the label limits it, so that the number
    decides. Bait brings nothing into the air and is asked only for the label's rows.
    """
    dusty = method == Method.DUST or formulation == Formulation.DUST
    found = list(of_label(rows))
    if method != Method.BAIT and (dusty or is_enclosed(method, places)):
        volume = () if is_volume_known else (VOLUME,)
        found += [*ENCLOSED, *volume, *(DUST if dusty else ()), *AFTERWARDS]
    return tuple(found)


def is_enclosed(method: Method, places: Iterable[Place]) -> bool:
    """Work whose product stays in closed air."""
    return method in ENCLOSED_METHODS or not ENCLOSED_PLACES.isdisjoint(places)


def of_label(rows: Iterable[AskedRow]) -> tuple[Question, ...]:
    """The questions of limit rows: each fact and bound once, with its strictest number.

    Where one row of several refuses, a "no" to the strictest refuses: nobody knows by how much.
    """
    alike: dict[str, list[AskedRow]] = {}
    for row in rows:
        alike.setdefault(_code(row), []).append(row)
    return tuple(_of_row(code, _strictest(same)) for code, same in alike.items())


def _code(row: AskedRow) -> str:
    return f"{row.fact}_{row.comparison}" if row.fact in WITH_BOUND else str(row.fact)


def _strictest(rows: Sequence[AskedRow]) -> AskedRow:
    refuses = any(row.severity == Severity.REFUSE for row in rows)
    strictest = max(rows, key=_strictness)
    return replace(strictest, severity=Severity.REFUSE) if refuses else strictest


def _strictness(row: AskedRow) -> Decimal:
    limit = row.limit or Decimal(0)
    return -limit if row.comparison == Comparison.AT_MOST else limit


def _of_row(code: str, row: AskedRow) -> Question:
    words, if_no, to_do = OF_LABEL[row.fact]
    bound = BOUNDS.get(row.comparison, "") if row.fact in WITH_BOUND else ""
    limit = bound + plain(row.limit or Decimal(0))
    return Question(
        code,
        words.format(limit),
        if_no.format(limit),
        to_do,
        row.clause,
        row.severity,
        is_of_label=True,
    )


def is_of_the_work(code: str) -> bool:
    """Whether a question is about the work itself, whatever label is used for it.

    The volume of a space is asked against the maximum of one label.
    """
    return code != VOLUME.code and not any(code.startswith(fact) for fact in OF_LABEL)


def for_second(
    answers: Iterable[tuple[str, str]], own: Iterable[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """What answers for the second product of a tank: the work's `answers`, its label's `own`.

    An answer to the rows of one label answers no other label.
    """
    of_work = [pair for pair in answers if is_of_the_work(pair[0])]
    return (*of_work, *(pair for pair in own if not is_of_the_work(pair[0])))


def refuse_answers(answers: Iterable[tuple[str, str]]) -> None:
    """Refuse answers that nobody can have given: too many, or two to one question."""
    given = list(answers)
    if len(given) > MOST_ANSWERS or len({code for code, _ in given}) < len(given):
        raise Refused("answer", "A question is answered twice. Open the stop again.")


def answer_of(question: Question, answer: str) -> str:
    """An answer as it counts: empty when nothing was answered; refused when it is no answer."""
    text = answer.strip()
    if not question.is_written and text and text not in dict(question.answers):
        raise Refused("answer", f"Answer with one of the choices: {question.words}")
    return text
