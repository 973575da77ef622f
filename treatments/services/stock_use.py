"""What a record takes out of stock, inside the transaction that records it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event, open_item
from sites.rules.units import Amount, from_canonical, kind_of
from treatments.models import (
    ApplicationRecord,
    Load,
    LoadProduct,
    ProductLot,
    StockMove,
    StockPlace,
)
from treatments.rules.stock import MoveKind, Taken, first_in_first_out
from treatments.selectors.loads import load_key
from treatments.selectors.records import effective_records
from treatments.selectors.stock import lots_in, on_hand, vehicle_at
from treatments.services.stock_moves import (
    add_move,
    add_opposite,
    flag_below_zero,
    locked_lots,
)

if TYPE_CHECKING:
    from accounts.models import Person

LONGEST_REASON = 200
WITHOUT_STOCK = "use_without_stock"


def use_from_stock(
    *,
    record: ApplicationRecord,
    by: Person,
    now: datetime,
    instead_of: ApplicationRecord | None = None,
    vehicle: StockPlace | None = None,
    lot_number: str = "",
) -> list[StockMove]:
    """Take a record's product from the technician's vehicle, the oldest lot of its label first.

    From the lot of `lot_number` alone, where that one is aboard.

    Called after the property is locked and before the leaf is appended: it locks lots by key.
    Never refused: what was put down is recorded; what was not there opens an item. A technician
    without a vehicle has no stock to take from, nor has work without a product. What took the
    place of another entry is taken from where that one took it, while who made it is the same,
    and first from its lots.
    `vehicle` is what the technician drove then, where the caller knows.
    """
    quantity, vehicle = _whole(record), vehicle or _place_of(record, instead_of)
    if not quantity or vehicle is None or record.label_version_id is None:
        return []
    lots = usable_lots(vehicle, record.label_version_id, record.product_unit, _lot_of(record))
    if not lots:
        _open_without_lot(record, vehicle)
        return []
    return _take(record, quantity, _in_turn(lots, lot_number, instead_of), vehicle, by, now)


def _in_turn(
    lots: dict[int, ProductLot], lot_number: str, before: ApplicationRecord | None
) -> dict[int, ProductLot]:
    """The lots in the order they are taken from: the named one, else those of the entry before."""
    named = {pk: lot for pk, lot in lots.items() if lot_number and lot.lot_number == lot_number}
    if named or before is None:
        return named or lots
    taken = StockMove.objects.filter(record=before, kind=MoveKind.USE)
    first = {
        pk: lots[pk] for pk in taken.order_by("pk").values_list("lot", flat=True) if pk in lots
    }
    return first | lots


def _place_of(record: ApplicationRecord, before: ApplicationRecord | None) -> StockPlace | None:
    if before is not None and before.applicator_id == record.applicator_id:
        moves = StockMove.objects.filter(record=before, kind=MoveKind.USE)
        first = moves.select_related("from_place").order_by("pk").first()
        if first is not None:
            return first.from_place
    return vehicle_at(record.applicator_id, record.finished_at)


@transaction.atomic
def take_missing(*, record_id: int, by: Person, now: datetime) -> list[StockMove]:
    """Take what a record used and never took, once the lot it came from is on the vehicle.

    Refused: a record that took all of it or is not in force, a technician without a vehicle on
    that day, no lot of its label.
    """
    require(by, Permission.EDIT_STOCK)
    record, vehicle = _with_vehicle(record_id)
    if not effective_records().filter(pk=record.pk).exists():
        sentence = "This record was corrected or voided. What it took goes back with that."
        raise Refused("take", sentence)
    missing = (_whole(record) or 0) - _taken_by(record)
    if missing <= 0:
        raise Refused("take", "This record took all that it used. Nothing is missing.")
    lots = usable_lots(vehicle, record.label_version_id or 0, record.product_unit, _lot_of(record))
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
    vehicle = vehicle_at(record.applicator_id, record.finished_at) if record else None
    if record is None or vehicle is None:
        sentence = "No stock was kept for this technician on that day. Nothing is taken for it."
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
    taken = from_lots(quantity, lots, vehicle)
    return [_use(record, one, left, lots[one.lot_id], vehicle, by, now) for one, left in taken]


def from_lots(quantity: int, lots: Collection[int], vehicle: StockPlace) -> list[tuple[Taken, int]]:
    """A quantity from the lots on a vehicle, the first of them first; what is left of each then."""
    here = on_hand(lots, vehicle.pk)
    before = {pk: here.get((pk, vehicle.pk), 0) for pk in lots}
    taken = first_in_first_out(quantity, list(before.items()))
    return [(one, before[one.lot_id] - one.quantity) for one in taken]


def usable_lots(
    vehicle: StockPlace, label_version_id: int, unit: str, lot_id: int | None
) -> dict[int, ProductLot]:
    """Locked lots of one label and kind of unit, oldest first; a lot that is named alone."""
    locked = locked_lots([lot_id] if lot_id else lots_in(vehicle.pk, label_version_id))
    first_in = sorted(locked.values(), key=lambda lot: (lot.received_on, lot.pk))
    kind = kind_of(unit)
    return {lot.pk: lot for lot in first_in if kind_of(lot.container_unit) == kind}


def _lot_of(record: ApplicationRecord) -> int | None:
    """The lot that the record's load was mixed from; None when the load does not say."""
    key = load_key(record.load_ref)
    if key is None:
        return None
    label = record.label_version_id
    own = Load.objects.filter(client_ref=key, label_version=label)
    also = LoadProduct.objects.filter(load__client_ref=key, label_version=label)
    lots = [*own.values_list("lot_id", flat=True), *also.values_list("lot_id", flat=True)]
    return next(iter(lots), None)


def _use(
    record: ApplicationRecord,
    taken: Taken,
    left: int,
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
    flag_below_zero(lot, vehicle, left)
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
