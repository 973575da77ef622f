"""Which of the label's rates is put out, and when somebody must say why."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused

SHARE_OF_MAXIMUM = Decimal("0.95")  # a proposal stays this far under a maximum (house rule)
LONGEST_REASON = 200


class RateChoice(StrEnum):
    """Which rate of a direction; MOST is the maximum itself."""

    LOW = "low"
    MIDDLE = "middle"
    HIGH = "high"
    MOST = "most"


RATE_CHOICE_WORDS: Mapping[RateChoice, str] = {
    RateChoice.LOW: "Low rate",
    RateChoice.MIDDLE: "Middle rate",
    RateChoice.HIGH: "High rate",
    RateChoice.MOST: "Raised to the maximum",
}
NEEDS_REASON = (RateChoice.HIGH, RateChoice.MOST)
# what a firm may have proposed: a high rate is always somebody's own decision
FIRM_RATE_WORDS: Mapping[str, str] = {
    choice.value: RATE_CHOICE_WORDS[choice] for choice in (RateChoice.LOW, RateChoice.MIDDLE)
}


def rate_choices(least: Decimal | None, most: Decimal, unit: str = "") -> dict[RateChoice, Decimal]:
    """What a direction offers and the rate each proposes, in the label's units.

    Without a low rate below its maximum a direction offers 95 % of the maximum, or all of it;
    what is counted (`unit` is "each") is exact, so its maximum is proposed.
    """
    if unit == "each":
        return {RateChoice.LOW: most if least is None else min(least, most)}
    under = most * SHARE_OF_MAXIMUM
    if least is None or least >= most:
        return {RateChoice.LOW: under, RateChoice.MOST: most}
    return {
        RateChoice.LOW: min(least, under),
        RateChoice.MIDDLE: min((least + most) / 2, under),
        RateChoice.HIGH: under,
        RateChoice.MOST: most,
    }


def offered_or_low(named: str, least: Decimal | None, most: Decimal) -> RateChoice:
    """The choice of that name where the direction offers it, else the low rate."""
    offered = (choice for choice in rate_choices(least, most) if choice == named)
    return next(offered, RateChoice.LOW)


def wanted_rate(least: Decimal | None, most: Decimal, choice: RateChoice) -> Decimal:
    """The label's own number behind a choice, before 95 % of the maximum is taken of it."""
    if least is None or least >= most or choice in NEEDS_REASON:
        return most
    return least if choice == RateChoice.LOW else (least + most) / 2


def reason_for(choice: RateChoice, typed: str) -> str:
    """The reason as typed; refused when the choice needs one and there is none, or it is long."""
    reason = " ".join(typed.split())
    if choice in NEEDS_REASON and not reason:
        raise Refused(
            "reason",
            f"{RATE_CHOICE_WORDS[choice]}: say why it is needed here, or take a lower rate.",
            field="reason",
        )
    if len(reason) > LONGEST_REASON:
        sentence = f"The reason has {len(reason)} letters. Say it in {LONGEST_REASON} at most."
        raise Refused("reason", sentence, field="reason")
    return reason
