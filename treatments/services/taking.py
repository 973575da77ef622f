"""What a technician takes from the store of the branch onto the own vehicle."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from sites.rules.units import canonical
from treatments.models import ProductLot, StockMove, StockPlace
from treatments.rules.stock import MoveKind, PlaceKind, stock_amount
from treatments.selectors.stock import vehicle_of
from treatments.selectors.withdrawals import ended_by
from treatments.services.stock_moves import add_move, close_below_zero, left_of, locked_lot, shown
from treatments.services.stock_replay import Sent, first_move

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def take_aboard(
    *,
    lot_id: int,
    store_id: int,
    amount: str,
    unit: str,
    by: Person,
    now: datetime,
    client_ref: UUID | None = None,
) -> StockMove:
    """Book what a technician loads: from a store of the own branch onto the own vehicle only.

    Refused: nobody's vehicle, a place that is no store of the branch, a lot of a withdrawn label,
    an amount that is none or of another kind, more than the store has by its moves (a manager
    receives or counts first).
    """
    require(by, Permission.LOAD_VEHICLE)
    vehicle = own_vehicle_of(by)
    lot = locked_lot(lot_id)
    sent = Sent(client_ref, "take", (lot_id, store_id, amount, unit))
    if (first := first_move(sent)) is not None:
        return first
    store = _store(lot, store_id, by)
    _refuse_withdrawn(lot, by, now)
    taken = stock_amount(amount, unit, label_unit=lot.container_unit)
    left = left_of(lot, store)
    if canonical(taken.value, taken.unit) > left:
        sentence = (
            f"By its moves {store} has {shown(max(left, 0), unit)} of this lot. Take that much, "
            "or ask a manager to receive or count the rest first."
        )
        raise Refused("amount", sentence, field="amount")
    move = add_move(
        MoveKind.TRANSFER, lot, taken, at=now, by=by,
        from_place=store, to_place=vehicle, **sent.columns,
    )  # fmt: skip
    close_below_zero(lot, vehicle, now)
    note_event(by=by, act="take_aboard", thing=move, now=now, lot=lot.pk)
    return move


def own_vehicle_of(by: Person) -> StockPlace:
    """The vehicle of the person, in the own branch; refused when none is kept."""
    vehicle = vehicle_of(by.pk)
    if vehicle is None or vehicle.branch_id != by.branch_id:
        raise Refused("vehicle", "No vehicle is kept for you. Ask a manager to add it under Stock.")
    return vehicle


def _store(lot: ProductLot, store_id: int, by: Person) -> StockPlace:
    stores = StockPlace.objects.filter(kind=PlaceKind.STORE, branch_id=by.branch_id)
    store = stores.filter(pk=store_id).first()
    if store is None or lot.branch_id != by.branch_id:
        sentence = "This lot is not in a store of your branch. Choose one of the list."
        raise Refused("place", sentence, field="lot")
    return store


def _refuse_withdrawn(lot: ProductLot, by: Person, now: datetime) -> None:
    today = now.astimezone(ZoneInfo(by.branch.time_zone)).date()
    ended = ended_by(lot.label_version, today)
    if ended is not None:
        reason = ended.reason.rstrip(".")
        sentence = f"The label of this lot is withdrawn: {reason}. Leave it, take another lot."
        raise Refused("withdrawn", sentence, field="lot")
