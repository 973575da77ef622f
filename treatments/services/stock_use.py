"""What a record takes out of stock, inside the transaction that records it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event, open_item
from sites.rules.units import Amount, from_canonical
from treatments.models import ApplicationRecord, ProductLot, StockMove, StockPlace
from treatments.rules.stock import MoveKind, Taken, first_in_first_out
from treatments.selectors.stock import lots_in, on_hand, vehicle_of
from treatments.services.stock_moves import add_move, add_opposite, flag_below_zero, locked_lots

if TYPE_CHECKING:
    from accounts.models import Person

LONGEST_REASON = 200
WITHOUT_STOCK = "use_without_stock"


def use_from_stock(*, record: ApplicationRecord, by: Person, now: datetime) -> list[StockMove]:
    """Take a record's product from the technician's vehicle, the oldest lot of its label first.

    Called after the property is locked and before the leaf is appended: it locks lots by key.
    Never refused: what was put down is recorded; what was not there opens an item. A technician
    without a vehicle has no stock to take from, nor has work without a product.
    """
    quantity, vehicle = _whole(record), vehicle_of(record.applicator_id)
    if not quantity or vehicle is None or record.label_version_id is None:
        return []
    lots = _usable(vehicle, record)
    if not lots:
        _open_without_lot(record, vehicle)
        return []
    return _take(record, quantity, lots, vehicle, by, now)


@transaction.atomic
def take_missing(*, record_id: int, by: Person, now: datetime) -> list[StockMove]:
    """Take what a record used and never took, once the lot it came from is on the vehicle.

    Refused: a record that took all of it, a technician without a vehicle, no lot of its label.
    """
    require(by, Permission.EDIT_STOCK)
    record, vehicle = _with_vehicle(record_id)
    missing = (_whole(record) or 0) - _taken_by(record)
    if missing <= 0:
        raise Refused("take", "This record took all that it used. Nothing is missing.")
    lots = _usable(vehicle, record)
    if not lots:
        sentence = f"No lot of the {record.label_version} is on {vehicle}. Transfer it there first."
        raise Refused("take", sentence)
    moves = _take(record, missing, lots, vehicle, by, now)
    thing, note = _without_lot(record, vehicle), f"Taken later by {by.full_name}."
    close_items(code=WITHOUT_STOCK, thing=thing, note=note, now=now)
    note_event(by=by, act="take_missing_stock", thing=record, now=now)
    return moves


def _with_vehicle(record_id: int) -> tuple[ApplicationRecord, StockPlace]:
    """The record, locked so that two people do not both take the same missing amount."""
    record = ApplicationRecord.objects.select_for_update(of=("self",)).filter(pk=record_id).first()
    vehicle = vehicle_of(record.applicator_id) if record else None
    if record is None or vehicle is None:
        sentence = "Nobody keeps stock for this technician. Give them a vehicle first."
        raise Refused("take", sentence)
    return record, vehicle


def _whole(record: ApplicationRecord) -> int | None:
    return record.product_ul if record.product_ul is not None else record.product_mg


def _taken_by(record: ApplicationRecord) -> int:
    moves = StockMove.objects.filter(kind=MoveKind.USE, record=record)
    return sum(move.quantity for move in moves)


def _take(
    record: ApplicationRecord,
    quantity: int,
    lots: dict[int, ProductLot],
    vehicle: StockPlace,
    by: Person,
    now: datetime,
) -> list[StockMove]:
    left = on_hand(lots, vehicle.pk)
    on_board = [(lot_id, left.get((lot_id, vehicle.pk), 0)) for lot_id in lots]
    taken = first_in_first_out(quantity, on_board)
    return [_use(record, one, lots[one.lot_id], vehicle, by, now) for one in taken]


def _usable(vehicle: StockPlace, record: ApplicationRecord) -> dict[int, ProductLot]:
    """Locked lots of the record's own label and kind of unit, oldest first."""
    first_in = lots_in(vehicle.pk, record.label_version_id or 0)
    locked = locked_lots(first_in)
    kind = _kind(record.product_unit)
    fitting = [pk for pk in first_in if _kind(locked[pk].container_unit) == kind]
    return {pk: locked[pk] for pk in fitting}


def _kind(unit: str) -> str:
    return Amount(from_canonical(0, unit), unit).kind


def _use(
    record: ApplicationRecord,
    taken: Taken,
    lot: ProductLot,
    vehicle: StockPlace,
    by: Person,
    now: datetime,
) -> StockMove:
    value = from_canonical(taken.quantity, record.product_unit)
    move = add_move(
        MoveKind.USE, lot, Amount(value, record.product_unit), at=now, by=by,
        quantity=taken.quantity, from_place=vehicle, record=record,
        entered=record.product_amount if taken.quantity == _whole(record) else "",
    )  # fmt: skip
    flag_below_zero(lot, vehicle)
    return move


def _open_without_lot(record: ApplicationRecord, vehicle: StockPlace) -> None:
    open_item(
        branch_id=vehicle.branch_id,
        code=WITHOUT_STOCK,
        thing=_without_lot(record, vehicle),
        sentence=f"{record.product_name} was used by record {record.pk}, but no lot of the "
        f"{record.label_version} is on {vehicle}. Transfer the lot it came from, then take what "
        "is missing under Use log against stock.",
    )


def _without_lot(record: ApplicationRecord, vehicle: StockPlace) -> str:
    return f"place:{vehicle.pk} label:{record.label_version_id}"


@transaction.atomic
def take_back_use(
    *, record: ApplicationRecord, reason: str, by: Person | None, now: datetime
) -> list[StockMove]:
    """Put back what a record took, by opposite moves: for the correction or the void of a record.

    The corrected amount is taken by `use_from_stock` of the correcting entry. Refused without a
    reason; what was put back before stays as it is.
    """
    if not reason.strip():
        raise Refused("move", "Say what was wrong.", field="reason")
    moves = list(
        StockMove.objects.filter(record=record, corrects=None, corrected_by=None).order_by("pk")
    )
    lots = locked_lots({move.lot_id for move in moves})
    text = reason.strip()[:LONGEST_REASON]
    return [add_opposite(move, lots[move.lot_id], text, by=by, now=now) for move in moves]
