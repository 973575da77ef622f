"""The limits of a label that only a person on the spot can answer for, and how they are asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from sites.rules.units import plain
from treatments.rules.products import Comparison, LimitFact, Severity
from treatments.rules.questions import Question


@dataclass(frozen=True)
class AskedRow:
    """A limit of a label that a person answers for; `limit` in the fact's own unit.

    `sentence` is the label's own, shown where the question does not say it.
    """

    fact: LimitFact
    comparison: Comparison
    limit: Decimal | None
    severity: Severity
    clause: str
    sentence: str = ""


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
    LimitFact.HIGH_RATE_ONLY: (
        "High rate: is what the label asks for it so here?",
        "The high rate is not meant for this place.",
        "Choose the low or the middle rate.",
    ),
    LimitFact.WATER_PH: (
        "Is the pH of the mixing water {}?",
        "The pH of the mixing water is not {}.",
        "Take other water, or bring it there with what the label names.",
    ),
    LimitFact.RUN_OFF: (
        "Will the spray be put on to the point of run-off?",
        "The spray would not reach the point of run-off.",
        "Calibrate for more finished spray, or choose another direction.",
    ),
    LimitFact.WATERED_IN: (
        "Is it settled that this is watered in, and by whom?",
        "Nobody waters it in.",
        "Settle it with the customer before you mix.",
    ),
    LimitFact.WATERED_IN_DEPTH: (
        "Will it be watered in with {} in of water?",
        "It would not be watered in with {} in of water.",
        "Settle with the customer how long the water runs.",
    ),
    LimitFact.WATERED_IN_HOURS: (
        "Will it be watered in {} hours after it is put on?",
        "It would not be watered in {} hours after it is put on.",
        "Settle the time with the customer, or come back when it fits.",
    ),
    LimitFact.VACANT_ONLY: (
        "Is the place vacant, and will it stay so as the label says?",
        "The place is not vacant.",
        "Choose another product, or come back when it is empty.",
    ),
    LimitFact.SCHOOL: (
        "Is this no school and no day care?",
        "This is a school or day care.",
        "Choose a product whose label allows schools.",
    ),
    LimitFact.SCHOOL_HOURS: (
        "Is this no school or day care, or are its hours over?",
        "The school or day care is open.",
        "Come back outside its hours.",
    ),
}
# what the same fact asks where the label forbids it
FORBIDDEN: dict[LimitFact, tuple[str, str, str]] = {
    LimitFact.RUN_OFF: (
        "Will the spray stay short of the point of run-off?",
        "The spray would run off.",
        "Put on less finished spray, or leave the zone out.",
    ),
    LimitFact.WATERED_IN: (
        "Is it settled that nobody waters this in?",
        "It would be watered in.",
        "Have sprinklers switched off, or come back when they are.",
    ),
}
# a row of these that only notes is said with the mix and the record, and not asked
SAID = frozenset(
    {
        *(LimitFact.AGITATION, LimitFact.WATER_PH, LimitFact.RUN_OFF),
        *(LimitFact.WATERED_IN, LimitFact.WATERED_IN_DEPTH, LimitFact.WATERED_IN_HOURS),
    }
)
# the label's own words are read before these are answered
QUOTED = frozenset({*SAID, LimitFact.HIGH_RATE_ONLY, LimitFact.VACANT_ONLY, LimitFact.SCHOOL_HOURS})
BOUNDS = {Comparison.AT_MOST: "at most ", Comparison.AT_LEAST: "at least "}
WITH_BOUND = frozenset(
    {
        *(LimitFact.PLACEMENT_WEIGHT, LimitFact.PLACEMENT_SPACING, LimitFact.WATER_PH),
        *(LimitFact.WATERED_IN_DEPTH, LimitFact.WATERED_IN_HOURS),
    }
)
CODES = frozenset(
    {*OF_LABEL, *(f"{fact}_{comparison}" for fact in OF_LABEL for comparison in Comparison)}
)


def is_of_label(code: str) -> bool:
    """Whether a question comes from a row of a label."""
    return code in CODES


def is_asked(fact: LimitFact, severity: Severity, *, is_high_rate: bool) -> bool:
    """Whether a person answers for a row: not where it only notes, nor for a rate not chosen."""
    if fact == LimitFact.HIGH_RATE_ONLY:
        return is_high_rate
    return fact in OF_LABEL and not (fact in SAID and severity == Severity.NOTE)


def of_label(rows: Iterable[AskedRow]) -> tuple[Question, ...]:
    """The questions of limit rows: each fact and bound once, with its strictest number.

    Where one row of several refuses, a "no" to the strictest refuses: nobody knows by how much.
    """
    alike: dict[str, list[AskedRow]] = {}
    for row in rows:
        alike.setdefault(_code(row), []).append(row)
    return tuple(_of_row(code, _strictest(same)) for code, same in alike.items())


def _code(row: AskedRow) -> str:
    opposite = row.fact in FORBIDDEN and row.comparison == Comparison.FORBIDDEN
    return f"{row.fact}_{row.comparison}" if row.fact in WITH_BOUND or opposite else str(row.fact)


def _strictest(rows: Sequence[AskedRow]) -> AskedRow:
    refuses = any(row.severity == Severity.REFUSE for row in rows)
    strictest = max(rows, key=_strictness)
    return replace(strictest, severity=Severity.REFUSE) if refuses else strictest


def _strictness(row: AskedRow) -> Decimal:
    limit = row.limit or Decimal(0)
    return -limit if row.comparison == Comparison.AT_MOST else limit


def _of_row(code: str, row: AskedRow) -> Question:
    table = FORBIDDEN if row.comparison == Comparison.FORBIDDEN else OF_LABEL
    words, if_no, to_do = table.get(row.fact, OF_LABEL[row.fact])
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
        quote=row.sentence if row.fact in QUOTED else "",
    )
