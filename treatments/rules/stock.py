"""Stock in whole microliters or milligrams: from which lot a use is taken, what is running out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from accounts.refusals import Refused
from accounts.rules.day_words import days_ago
from sites.rules.units import Amount, canonical, kind_of, parse_amount, unit_word

EXPIRES_SOON = timedelta(days=60)  # common practice, no source
LONGEST_AMOUNT = 20
KINDS_OF_STOCK = ("volume", "mass")
CLOSED_BY_HAND = ("stock_difference", "use_without_stock", "load_difference", "rest_without_stock")
FINDING_WORDS: Mapping[str, str] = {
    "stock_below_zero": "Below zero",
    "stock_difference": "Difference",
    "use_without_stock": "No lot",
    "load_difference": "Load differs",
    "rest_without_stock": "Rest not taken",
    "vehicle_item_missing": "Not aboard",
}


class PlaceKind(StrEnum):
    """Where product is kept."""

    STORE = "store"
    VEHICLE = "vehicle"
    RINSATE = "rinsate"


class MoveKind(StrEnum):
    """Why product came, went or changed its place."""

    RECEIVE = "receive"
    USE = "use"
    TRANSFER = "transfer"
    DISPOSE = "dispose"
    ADJUST = "adjust"


PLACE_WORDS: Mapping[StrEnum, str] = {
    PlaceKind.STORE: "Store",
    PlaceKind.VEHICLE: "Vehicle",
    PlaceKind.RINSATE: "Rinsate container",
}
MOVE_WORDS: Mapping[StrEnum, str] = {
    MoveKind.RECEIVE: "Received",
    MoveKind.USE: "Used",
    MoveKind.TRANSFER: "Transferred",
    MoveKind.DISPOSE: "Disposed of",
    MoveKind.ADJUST: "Counted",
}


@dataclass(frozen=True)
class Taken:
    """How much of a use is taken from one lot, in whole canonical units."""

    lot_id: int
    quantity: int


def first_in_first_out(wanted: int, on_hand: Sequence[tuple[int, int]]) -> tuple[Taken, ...]:
    """Take `wanted` from the lots in the given order; what is missing goes onto the last lot.

    `on_hand` is (lot, quantity) with the oldest first; a lot at or below zero gives nothing. The
    sum of what is taken is always `wanted`, unless there is no lot at all.
    """
    taken, rest = [], wanted
    for lot_id, quantity in on_hand:
        part = max(0, min(rest, quantity))
        taken.append(Taken(lot_id, part))
        rest -= part
    if taken and rest:
        taken[-1] = Taken(taken[-1].lot_id, taken[-1].quantity + rest)
    return tuple(one for one in taken if one.quantity)


def stock_amount(text: str, unit: str, *, label_unit: str, may_be_zero: bool = False) -> Amount:
    """An amount of product as typed.

    Refused: no number, nothing at all, a unit of another kind than `label_unit`, the unit of the
    label's rates.
    """
    if len(text.strip()) > LONGEST_AMOUNT:
        raise Refused("amount", f"{text.strip()[:20]}… is too long for an amount.", field="amount")
    try:
        amount = parse_amount(text, unit)
    except Refused as refused:
        raise Refused(refused.code, refused.sentence, field="amount") from refused
    kind = kind_of(label_unit)
    if amount.kind not in KINDS_OF_STOCK or amount.kind != kind:
        raise Refused(
            "unit",
            f"The label measures this product by {kind} ({unit_word(label_unit)}), not in "
            f"{unit_word(unit)}. Choose a unit of {kind}.",
            field="unit",
        )
    if canonical(amount.value, unit) == 0 and not may_be_zero:
        raise Refused("amount", "The amount is zero. Type how much it is.", field="amount")
    return amount


def expiry_words(expires_on: date | None, today: date) -> tuple[str, str]:
    """The state and the words of a lot's last day; a lot without one does not expire."""
    if expires_on is None:
        return "ok", "no expiry given"
    days = (expires_on - today).days
    if days < 0:
        return "refused", f"Expired {days_ago(-days)}"
    if days <= EXPIRES_SOON.days:
        return "check", f"Expires in {days} day{'s' if days != 1 else ''}"
    return "ok", "In date"
