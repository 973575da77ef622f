"""Appending stock moves under the lock of their lot, and what is below zero."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from accounts.refusals import Refused
from accounts.services.audit import close_items, open_item
from sites.rules.units import Amount, canonical, display, from_canonical, plain
from treatments.models import ProductLot, StockMove, StockPlace
from treatments.rules.stock import MoveKind
from treatments.selectors.stock import on_hand
from treatments.services.recalls import keep_recall

if TYPE_CHECKING:
    from accounts.models import Person

BELOW_ZERO = "stock_below_zero"


def add_move(
    kind: MoveKind,
    lot: ProductLot,
    amount: Amount,
    *,
    at: datetime,
    by: Person | None,
    quantity: int | None = None,
    entered: str = "",
    **rest: Any,
) -> StockMove:
    """Append one move.

    `quantity` in whole uL or mg unless it is that of `amount`; `entered` the text unless it is the
    amount's own, to six decimals.
    """
    number = canonical(amount.value, amount.unit) if quantity is None else quantity
    text = entered or plain(Decimal(f"{amount.value:.6f}"))
    fields = {"amount": text, "ul": None, "mg": None} | rest
    fields["ul" if amount.kind == "volume" else "mg"] = number
    move = StockMove.objects.create(
        kind=kind, lot=lot, unit=amount.unit, at=at, created_by=by, **fields
    )
    keep_recall(label_version_id=lot.label_version_id, branch_id=lot.branch_id, now=at)
    return move


def locked_lots(lot_ids: Collection[int]) -> dict[int, ProductLot]:
    """The lots, locked by key: after the property, before the log's frontier."""
    rows = ProductLot.objects.select_for_update().filter(pk__in=lot_ids)
    return {lot.pk: lot for lot in rows.order_by("pk")}


def locked_lot(lot_id: int) -> ProductLot:
    """One lot, locked; refused when there is none."""
    lot = locked_lots([lot_id]).get(lot_id)
    if lot is None:
        raise Refused("lot", "There is no such lot.")
    return lot


def left_of(lot: ProductLot, place: StockPlace) -> int:
    """Whole uL or mg of a lot at a place."""
    return on_hand([lot.pk], place.pk).get((lot.pk, place.pk), 0)


def flag_below_zero(lot: ProductLot, place: StockPlace, left: int | None = None) -> bool:
    """Open an item when a lot is below zero at a place; say whether it is.

    `left` is how much there is in whole uL or mg, where the caller has it under the lot's lock.
    """
    left = left_of(lot, place) if left is None else left
    if left >= 0:
        return False
    open_item(
        branch_id=lot.branch_id,
        code=BELOW_ZERO,
        thing=_lot_at(lot, place),
        sentence=f"{lot} is below zero at {place}: {shown(left, lot.container_unit)}. "
        "Receive or transfer what is missing, or count the place.",
    )
    return True


def close_below_zero(lot: ProductLot, place: StockPlace, now: datetime) -> None:
    """Close the item of a place that is not below zero any more, after product came or a count."""
    if left_of(lot, place) < 0:
        return
    note = f"{lot} is not below zero at {place} any more."
    close_items(code=BELOW_ZERO, thing=_lot_at(lot, place), note=note, now=now)


def _lot_at(lot: ProductLot, place: StockPlace) -> str:
    return f"lot:{lot.pk} place:{place.pk}"


def shown(quantity: int, unit: str) -> str:
    """A quantity in a unit of its kind, for people."""
    sign = "-" if quantity < 0 else ""
    return sign + display(Amount(from_canonical(abs(quantity), unit), unit))


def add_opposite(
    move: StockMove, lot: ProductLot, reason: str, *, by: Person | None, now: datetime
) -> StockMove:
    """The opposite of a move of a locked lot; refused for one that is or has an opposite."""
    if move.corrects_id or StockMove.objects.filter(corrects=move).exists():
        raise Refused("move", "This move is taken back already. Enter what is right instead.")
    opposite = add_move(
        MoveKind(move.kind), lot, Amount(from_canonical(0, move.unit), move.unit), at=now, by=by,
        from_place=move.from_place, to_place=move.to_place, quantity=-move.quantity,
        reason=reason[:200], entered=move.amount, corrects=move, record=move.record,
        disposed_how=move.disposed_how, disposed_where=move.disposed_where,
    )  # fmt: skip
    for place in (move.from_place, move.to_place):
        if place is not None and not flag_below_zero(lot, place):
            close_below_zero(lot, place, now)
    return opposite
