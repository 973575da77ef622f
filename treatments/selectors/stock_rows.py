"""Lots at places in words: how much, until when, in what state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from accounts.rules.day_words import short_day
from sites.rules.units import Amount, display, from_canonical
from treatments.models import ProductLot, StockPlace
from treatments.rules.stock import expiry_words
from treatments.selectors.stock import OnHand
from treatments.selectors.withdrawals import ended_by, withdrawal_of

REFUSED = "refused"
RETURN = "Return it to the dealer, or dispose of it as its label says, and record that."


@dataclass(frozen=True)
class StockRow:
    """One lot at one place."""

    lot: ProductLot
    place: StockPlace
    quantity: int
    amount: str
    expires: str
    state: str
    word: str
    to_do: str = ""

    @property
    def is_usable(self) -> bool:
        """Neither expired nor under a withdrawn label; what is below zero is owed."""
        return self.state != REFUSED or self.quantity < 0


def stock_rows(
    lots: Iterable[ProductLot], places: Mapping[int, StockPlace], here: OnHand, today: date
) -> tuple[StockRow, ...]:
    """What is not nothing, by product and place, the oldest lot first."""
    known = {lot.pk: lot for lot in lots}
    rows = [
        stock_row(known[lot_id], places[place_id], quantity, today)
        for (lot_id, place_id), quantity in here.items()
        if quantity and lot_id in known and place_id in places
    ]
    return tuple(sorted(rows, key=_by_product))


def _by_product(row: StockRow) -> tuple[str, str, date, int]:
    product = row.lot.label_version.product.name
    return product, row.place.name, row.lot.received_on, row.lot.pk


def stock_row(lot: ProductLot, place: StockPlace, quantity: int, today: date) -> StockRow:
    """One lot at one place in words."""
    state, word = standing(lot, quantity, today)
    return StockRow(
        lot=lot,
        place=place,
        quantity=quantity,
        amount=shown(quantity, lot.container_unit),
        expires=day_or_nothing(lot.expires_on),
        state=state,
        word=word,
        to_do=what_to_do(lot, quantity, today),
    )


def standing(lot: ProductLot, quantity: int, today: date) -> tuple[str, str]:
    """A lot is judged by its own label until that one is withdrawn."""
    withdrawn = withdrawal_of(lot.label_version)
    last = withdrawn.not_to_be_used_after if withdrawn else None
    if quantity < 0:
        return REFUSED, "Below zero"
    if last is not None and last < today:
        return REFUSED, "Label withdrawn"
    state, word = expiry_words(lot.expires_on, today)
    if last is not None and state != REFUSED:
        return "check", f"Label until {short_day(last, True)}"
    return state, word


def what_to_do(lot: ProductLot, quantity: int, today: date) -> str:
    """Why a lot of a withdrawn label is not used any more, and where it goes; else nothing."""
    withdrawn = withdrawal_of(lot.label_version)
    if withdrawn is None or quantity <= 0:
        return ""
    last = withdrawn.not_to_be_used_after
    until = f"Not to be used after {short_day(last, True)}" if last else ""
    reason = withdrawn.reason.rstrip(".")
    is_over = ended_by(lot.label_version, today) is not None
    act = RETURN if is_over else "Use it up until then, or return it to the dealer."
    return f"{until}: {reason}. {act}"


def day_or_nothing(day: date | None) -> str:
    """A day in words, nothing for none."""
    return short_day(day, True) if day else ""


def shown(quantity: int, unit: str) -> str:
    """A quantity, also one below zero, in a unit of its kind."""
    return display(Amount(from_canonical(quantity, unit), unit))
