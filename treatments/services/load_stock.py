"""What the rest of a load takes out of stock: disposed of, or moved to the rinsate container."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from accounts.refusals import Refused
from accounts.services.audit import open_item
from sites.rules.units import Amount, from_canonical, unit_word
from treatments.models import Load, LoadProduct, LoadRest, ProductLot, StockMove, StockPlace
from treatments.rules.loads import RestKind
from treatments.rules.stock import MoveKind, PlaceKind
from treatments.selectors.loads import LoadState
from treatments.selectors.stock import lots_in, vehicle_at
from treatments.services.stock_moves import (
    add_move,
    close_below_zero,
    flag_below_zero,
    locked_lots,
)
from treatments.services.stock_use import from_lots, usable_lots

if TYPE_CHECKING:
    from accounts.models import Person

REST_WITHOUT_STOCK = "rest_without_stock"


def container_for(kind: str, branch_id: int, container_id: int | None) -> StockPlace | None:
    """The rinsate container a rest goes into; None for another rest or a branch that has none.

    Refused: one of another branch, none said where the branch has several.
    """
    if kind != RestKind.RINSATE:
        return None
    rows = StockPlace.objects.filter(branch_id=branch_id, kind=PlaceKind.RINSATE).order_by("pk")
    places = {place.pk: place for place in rows}
    if container_id is None and len(places) < 2:
        return next(iter(places.values()), None)
    if container_id not in places:
        raise Refused("container", "Say which rinsate container it went into.", field="container")
    return places[container_id]


def move_rest(
    *,
    state: LoadState,
    rest: LoadRest,
    container: StockPlace | None,
    by: Person,
    now: datetime,
) -> list[StockMove]:
    """Take each product in what was left from the technician's vehicle, as its uses were.

    Into the rinsate container it is a transfer, and is disposed of from there; else a disposal.
    Called with the load locked. Never more than the records leave of a product of the load.
    Nothing without a vehicle; without a lot or a container an item opens.
    """
    load = state.load
    vehicle = vehicle_at(load.technician_id, rest.at) or vehicle_at(
        load.technician_id, load.mixed_at
    )
    in_rest = {row: _quantity(state, row, rest) for row in load.products}
    if not any(in_rest.values()) or vehicle is None:
        return []
    if rest.kind == RestKind.RINSATE and container is None:
        _open_without_container(rest, vehicle)
        return []
    where = _where(rest, container)
    lock_lots_of(load, vehicle)
    return [
        move
        for row, quantity in in_rest.items()
        if quantity
        for move in _move_product(row, quantity, rest, vehicle, where, by, now)
    ]


def lock_lots_of(load: Load, vehicle: StockPlace | None, also: Iterable[int] = ()) -> None:
    """Lock the lots of every product of a load at once, by key, before the first of them moves.

    One product after the other would take them in the order of the load, and after the log.
    `also` are lots that will move beside those.
    """
    named = [also]
    if vehicle is not None:
        named += [[row.lot_id] if row.lot_id else _aboard(row, vehicle) for row in load.products]
    locked_lots(sorted({pk for keys in named for pk in keys}))


def _aboard(row: Load | LoadProduct, vehicle: StockPlace) -> list[int]:
    return list(lots_in(vehicle.pk, row.label_version_id))


def _quantity(state: LoadState, row: Load | LoadProduct, rest: LoadRest) -> int:
    return min(state.mixture_of(row).product_in(rest.ul), state.product_left(row))


def _move_product(
    row: Load | LoadProduct,
    quantity: int,
    rest: LoadRest,
    vehicle: StockPlace,
    where: dict[str, Any],
    by: Person,
    now: datetime,
) -> list[StockMove]:
    lots = usable_lots(vehicle, row.label_version_id, row.product_unit, row.lot_id)
    if not lots:
        _open_without_lot(row, rest, vehicle)
        return []
    taken, unit = from_lots(quantity, lots, vehicle), row.product_unit
    return [
        _move(rest, unit, one.quantity, lots[one.lot_id], vehicle, where, by, now)
        for one, _ in taken
    ]


def _where(rest: LoadRest, container: StockPlace | None) -> dict[str, Any]:
    if container is not None:
        return {"to_place": container}
    return {"disposed_how": rest.disposed_how, "disposed_where": rest.disposed_where}


def _move(
    rest: LoadRest,
    unit: str,
    quantity: int,
    lot: ProductLot,
    vehicle: StockPlace,
    where: dict[str, Any],
    by: Person,
    now: datetime,
) -> StockMove:
    container = where.get("to_place")
    move = add_move(
        MoveKind.TRANSFER if container else MoveKind.DISPOSE,
        lot, Amount(from_canonical(quantity, unit), unit), at=now, by=by, quantity=quantity,
        from_place=vehicle, **where,
        reason=f"Left in load {rest.load_id}: {rest.amount} {unit_word(rest.unit)} of spray",
    )  # fmt: skip
    flag_below_zero(lot, vehicle)
    if container is not None:
        close_below_zero(lot, container, now)
    return move


def _open_without_container(rest: LoadRest, vehicle: StockPlace) -> None:
    _open(
        rest,
        vehicle,
        f"What was left of {rest.load} was put into a rinsate container, and the branch has none "
        f"under Stock. Add it there and transfer the product from {vehicle}.",
    )


def _open_without_lot(row: Load | LoadProduct, rest: LoadRest, vehicle: StockPlace) -> None:
    _open(
        rest if row == rest.load else row,
        vehicle,
        f"What was left of {row} went out of the tank, but no lot of the "
        f"{row.label_version} is on {vehicle}. Transfer the lot it came from and count it.",
    )


def _open(thing: LoadRest | Load | LoadProduct, vehicle: StockPlace, sentence: str) -> None:
    branch = vehicle.branch_id
    open_item(branch_id=branch, code=REST_WITHOUT_STOCK, thing=thing, sentence=sentence)
