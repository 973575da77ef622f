"""Moving product: received, transferred, counted, disposed of, taken back; never overwritten."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event, open_item
from sites.rules.units import Amount, canonical
from treatments.models import LabelVersion, ProductLot, StockMove, StockPlace
from treatments.rules.stock import MoveKind, PlaceKind, stock_amount
from treatments.selectors.stock import label_unit, on_hand
from treatments.services.stock_moves import (
    add_move,
    add_opposite,
    close_below_zero,
    flag_below_zero,
    locked_lot,
    shown,
)
from treatments.services.stock_places import known_label
from treatments.services.stock_replay import Sent, first_move

if TYPE_CHECKING:
    from accounts.models import Person

MOST_CONTAINERS = 10_000


@transaction.atomic
def receive_lot(
    *,
    place_id: int,
    label_version_id: int,
    lot_number: str,
    container_size: str,
    container_unit: str,
    containers: int,
    received_on: date,
    dealer: str,
    by: Person | None,
    now: datetime,
    expires_on: date | None = None,
    invoice: str = "",
    buyer: str = "",
    buyer_license: str = "",
    client_ref: UUID | None = None,
) -> ProductLot:
    """Receive containers of one lot into a place.

    Refused: no lot number or dealer; a size that is no amount or of another kind than the label's
    rates; a count that is none; days that cannot be; a lot number that came under another label of
    the product; a restricted-use product without its buyer and license.
    """
    require(by, Permission.EDIT_STOCK)
    words = (place_id, label_version_id, lot_number, container_size, container_unit, containers)
    paper = (received_on, expires_on, dealer, invoice, buyer, buyer_license)
    sent = Sent(client_ref, "receive", (*words, *paper))
    if (first := first_move(sent)) is not None:
        return first.lot
    place, label = _place_to_receive(place_id), known_label(label_version_id)
    size = _size(container_size, container_unit, label)
    number = lot_number.strip()
    _refuse_receipt(number, dealer, containers, received_on, expires_on, now.date())
    _refuse_restricted(label, buyer, buyer_license)
    _refuse_other_label(label, number, place.branch_id)
    lot = ProductLot.objects.create(
        label_version=label,
        branch_id=place.branch_id,
        lot_number=number,
        container_size=container_size.strip(),
        container_unit=container_unit,
        received_on=received_on,
        expires_on=expires_on,
        dealer=dealer.strip(),
        invoice=invoice.strip(),
        buyer=buyer.strip(),
        buyer_license=buyer_license.strip(),
        created_by=by,
    )
    amount = Amount(size.value * containers, size.unit)
    add_move(MoveKind.RECEIVE, lot, amount, at=now, by=by, to_place=place, **sent.columns)
    note_event(by=by, act="receive_lot", thing=lot, now=now, place=place.pk, amount=str(amount))
    return lot


def _place_to_receive(place_id: int) -> StockPlace:
    place = _place(place_id)
    if place.kind == PlaceKind.RINSATE:
        sentence = "A delivery does not go into a rinsate container. Choose a store or a vehicle."
        raise Refused("place", sentence, field="place")
    return place


def _size(text: str, unit: str, label: LabelVersion) -> Amount:
    try:
        return stock_amount(text, unit, label_unit=label_unit(label.pk) or unit)
    except Refused as refused:
        field = {"amount": "container_size", "unit": "container_unit"}[str(refused.facts["field"])]
        raise Refused(refused.code, refused.sentence, field=field) from refused


def _refuse_receipt(
    number: str, dealer: str, containers: int, received: date, expires: date | None, today: date
) -> None:
    if not number:
        sentence = "The lot number is missing. Read it on the container."
        raise Refused("lot", sentence, field="lot_number")
    if not dealer.strip():
        raise Refused("lot", "Say from which dealer it came.", field="dealer")
    if not 0 < containers <= MOST_CONTAINERS:
        sentence = f"A delivery has 1 to {MOST_CONTAINERS:,} containers. Count them again."
        raise Refused("lot", sentence, field="containers")
    # a day begins somewhere on earth before it does in UTC
    if (received - today).days > 1:
        sentence = f"{received} has not come yet. Put the day it was received."
        raise Refused("lot", sentence, field="received_on")
    if expires is not None and expires < received:
        sentence = "It expired before it was received. Read the day on the container again."
        raise Refused("lot", sentence, field="expires_on")


def _refuse_restricted(label: LabelVersion, buyer: str, buyer_license: str) -> None:
    if not label.product.is_restricted_use or (buyer.strip() and buyer_license.strip()):
        return
    raise Refused(
        "restricted",
        f"{label.product} is restricted use. Write who bought it and under which license.",
        field="buyer" if not buyer.strip() else "buyer_license",
    )


def _refuse_other_label(label: LabelVersion, number: str, branch_id: int) -> None:
    lots = ProductLot.objects.filter(branch_id=branch_id, lot_number__iexact=number)
    other = (
        lots.filter(label_version__product_id=label.product_id)
        .exclude(label_version=label)
        .select_related("label_version__product")
        .first()
    )
    if other is None:
        return
    raise Refused(
        "other_label",
        f"Lot {number} was received under the {other.label_version}. Read the date on the "
        "container: choose that label, or correct the lot number.",
        field="label_version",
    )


@transaction.atomic
def transfer(
    *,
    lot_id: int,
    from_place_id: int,
    to_place_id: int,
    amount: str,
    unit: str,
    by: Person | None,
    now: datetime,
    client_ref: UUID | None = None,
) -> StockMove:
    """Move product of a lot from one place to another of the same branch.

    Refused: the same place, another branch, out of a rinsate container, an amount that is none or
    of another kind. What was not there by the moves is moved all the same and opens an item.
    """
    require(by, Permission.EDIT_STOCK)
    lot = locked_lot(lot_id)
    words = (lot_id, from_place_id, to_place_id, amount, unit)
    sent = Sent(client_ref, "transfer", words)
    if (first := first_move(sent)) is not None:
        return first
    moved = _amount_of(lot, amount, unit)
    start, end = _place_of(lot, from_place_id), _place_of(lot, to_place_id)
    if start.pk == end.pk:
        sentence = "It is there already. Choose another place to put it."
        raise Refused("place", sentence, field="to_place")
    if start.kind == PlaceKind.RINSATE != end.kind:
        sentence = "Rinsate is mixed with water and does not go back. Dispose of it, how and where."
        raise Refused("place", sentence, field="from_place")
    move = add_move(
        MoveKind.TRANSFER, lot, moved, at=now, by=by,
        from_place=start, to_place=end, **sent.columns,
    )  # fmt: skip
    flag_below_zero(lot, start)
    close_below_zero(lot, end, now)
    note_event(by=by, act="transfer_stock", thing=move, now=now, lot=lot.pk)
    return move


@transaction.atomic
def dispose(
    *,
    lot_id: int,
    place_id: int,
    amount: str,
    unit: str,
    how: str,
    where: str,
    by: Person | None,
    now: datetime,
    client_ref: UUID | None = None,
) -> StockMove:
    """Record product that was disposed of, how and where.

    Refused: no way, no site, an amount that is none or of another kind.
    """
    require(by, Permission.EDIT_STOCK)
    lot = locked_lot(lot_id)
    sent = Sent(client_ref, "dispose", (lot_id, place_id, amount, unit, how, where))
    if (first := first_move(sent)) is not None:
        return first
    place = _place_of(lot, place_id)
    for field, text in (("how", how), ("where", where)):
        if not text.strip():
            raise Refused("disposal", f"Say {field} it was disposed of.", field=field)
    gone = _amount_of(lot, amount, unit)
    move = add_move(
        MoveKind.DISPOSE, lot, gone, at=now, by=by,
        from_place=place, disposed_how=how.strip(), disposed_where=where.strip(),
        **sent.columns,
    )  # fmt: skip
    flag_below_zero(lot, place)
    note_event(by=by, act="dispose_stock", thing=move, now=now, lot=lot.pk)
    return move


@transaction.atomic
def adjust(
    *,
    lot_id: int,
    place_id: int,
    counted: str,
    unit: str,
    reason: str,
    by: Person | None,
    now: datetime,
    client_ref: UUID | None = None,
) -> StockMove | None:
    """Set a place right by what was counted there; a difference becomes an open item.

    The move is the difference between what was counted and what the moves say. None when they
    agree. Refused: a difference without a reason, an amount that is none or of another kind.
    """
    require(by, Permission.EDIT_STOCK)
    lot = locked_lot(lot_id)
    sent = Sent(client_ref, "adjust", (lot_id, place_id, counted, unit, reason))
    if (first := first_move(sent)) is not None:
        return first
    place = _place_of(lot, place_id)
    found = _amount_of(lot, counted, unit, may_be_zero=True)
    expected = on_hand([lot.pk], place.pk).get((lot.pk, place.pk), 0)
    difference = canonical(found.value, found.unit) - expected
    if difference == 0:
        return None
    if not reason.strip():
        said = shown(expected, unit)
        sentence = f"By the moves there is {said}. Say why you counted another amount."
        raise Refused("adjust", sentence, field="reason")
    move = add_move(
        MoveKind.ADJUST, lot, found, at=now, by=by, to_place=place,
        quantity=difference, reason=reason.strip(), **sent.columns,
    )  # fmt: skip
    _open_difference(move, lot, place, expected, difference, unit)
    close_below_zero(lot, place, now)
    note_event(by=by, act="adjust_stock", thing=move, now=now, lot=lot.pk, reason=reason.strip())
    return move


def _open_difference(
    move: StockMove, lot: ProductLot, place: StockPlace, expected: int, by_how: int, unit: str
) -> None:
    word = "more" if by_how > 0 else "less"
    open_item(
        branch_id=lot.branch_id,
        code="stock_difference",
        thing=move,
        sentence=f"{lot} at {place}: counted {shown(abs(by_how), unit)} {word} than the "
        f"{shown(expected, unit)} that receipts and logged use leave. Reason given: {move.reason}",
    )


@transaction.atomic
def take_back(*, move_id: int, reason: str, by: Person | None, now: datetime) -> StockMove:
    """Take back a move that was entered wrong, by the opposite move.

    Refused: no reason, a move that was taken back or takes back itself, the use of a record (a
    correction of the record takes it back).
    """
    require(by, Permission.EDIT_STOCK)
    move = StockMove.objects.filter(pk=move_id).first()
    if move is None:
        raise Refused("move", "There is no such move.")
    if move.kind == MoveKind.USE:
        raise Refused("move", "A record made this move. Correct the record and it follows.")
    if not reason.strip():
        raise Refused("move", "Say what was wrong.", field="reason")
    lot = locked_lot(move.lot_id)
    opposite = add_opposite(move, lot, reason.strip(), by=by, now=now)
    note_event(by=by, act="take_back_move", thing=move, now=now, reason=reason.strip())
    return opposite


def _place(place_id: int) -> StockPlace:
    place = StockPlace.objects.filter(pk=place_id).first()
    if place is None:
        raise Refused("place", "There is no such place. Choose one of the list.")
    return place


def _place_of(lot: ProductLot, place_id: int) -> StockPlace:
    place = _place(place_id)
    if place.branch_id != lot.branch_id:
        raise Refused("place", f"{place} belongs to another branch. Receive the lot there instead.")
    return place


def _amount_of(lot: ProductLot, text: str, unit: str, *, may_be_zero: bool = False) -> Amount:
    return stock_amount(text, unit, label_unit=lot.container_unit, may_be_zero=may_be_zero)
