"""Is it the right container: the lots of the product on the technician's truck.

Every answer here warns: what is aboard is known from stock moves, and an unverified fact never
blocks anybody. A withdrawn label is refused by the label's own check.
"""

from __future__ import annotations

from collections.abc import Iterable

from accounts.rules.day_words import short_day
from treatments.rules.label_checks.facts import CarriedLot, Judgement, LabelFacts, ProposedUse
from treatments.rules.products import Severity

CLAUSE = "Lots on the truck"


def lots(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """A lot is judged by its own label and until its own last day; no lot aboard says nothing."""
    if not use.lots:
        return []
    of_label = [lot for lot in use.lots if lot.is_of_this_label]
    if not of_label:
        return [_other_label(facts, use.lots)]
    return _expiry(of_label, use)


def _other_label(facts: LabelFacts, carried: Iterable[CarriedLot]) -> Judgement:
    named = ", ".join(f"lot {lot.number} ({lot.label})" for lot in carried)
    return Judgement(
        "lot_label",
        Severity.WARN,
        f"The {facts.product_name} on your truck carries another label than this direction: "
        f"{named}.",
        CLAUSE,
        "A lot is judged by the label on its container: choose a direction of that label.",
    )


def _expiry(of_label: list[CarriedLot], use: ProposedUse) -> list[Judgement]:
    expired = [lot for lot in of_label if lot.expires_on is not None and lot.expires_on < use.on]
    good = [lot for lot in of_label if lot.is_good(use.on)]
    found = [_expired(lot, good) for lot in expired]
    return found + [_in_date(lot) for lot in good]


def _expired(lot: CarriedLot, good: list[CarriedLot]) -> Judgement:
    others = " or ".join(f"lot {one.number}" for one in good)
    return Judgement(
        "lot_expired",
        Severity.WARN,
        f"Lot {lot.number} on your truck expired on {_last_day(lot)}.",
        CLAUSE,
        f"Take {others} instead." if others else "Take another lot from the store.",
    )


def _in_date(lot: CarriedLot) -> Judgement:
    until = f"in date through {_last_day(lot)}" if lot.expires_on else "without an expiry"
    sentence = f"Lot {lot.number} on your truck, {until}"
    return Judgement("lot", Severity.NOTE, sentence, CLAUSE)


def _last_day(lot: CarriedLot) -> str:
    return short_day(lot.expires_on, True) if lot.expires_on else ""
