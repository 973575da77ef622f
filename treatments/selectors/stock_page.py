"""The pages of stock in words: what is where, what runs out, what does not agree."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import QuerySet, Sum
from django.db.models.functions import Coalesce

from accounts.rules.day_words import short_day
from accounts.selectors.open_items import open_items
from accounts.selectors.people import branches_for
from sites.rules.units import Amount, canonical, display, from_canonical, unit_word
from treatments.models import ApplicationRecord, ProductLot, ReorderLevel, StockMove, StockPlace
from treatments.rules.stock import MoveKind, expiry_words
from treatments.selectors.stock import lot_for, lots_for, moves_of, on_hand, places_for
from treatments.selectors.stock import reorder_levels as levels_by_product

if TYPE_CHECKING:
    from accounts.models import OpenItem, Person

FINDINGS = ("stock_below_zero", "stock_difference", "use_without_stock")
LOOK_BACK = timedelta(days=90)
CANONICAL = {"ul": "uL", "mg": "mg"}


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


@dataclass(frozen=True)
class ReorderRow:
    """How much of a product a branch has, and whether that is enough."""

    branch: str
    product: str
    amount: str
    level: str
    is_short: bool


@dataclass(frozen=True)
class Agreement:
    """Product of a branch by the use log and by the moves out of stock, over the same records."""

    branch: str
    product: str
    logged: str
    taken: str
    difference: str


@dataclass(frozen=True)
class StockPage:
    """Everything on the sheet of stock."""

    rows: tuple[StockRow, ...]
    reorder: tuple[ReorderRow, ...]
    agreements: tuple[Agreement, ...]
    items: tuple[OpenItem, ...]
    places: tuple[StockPlace, ...]
    since: str

    @property
    def to_order(self) -> int:
        return sum(row.is_short for row in self.reorder)


@dataclass(frozen=True)
class MoveRow:
    """One move of a lot in words."""

    move: StockMove
    on: str
    places: str
    amount: str
    said: str
    may_be_taken_back: bool


@dataclass(frozen=True)
class LotPage:
    """One lot: what it is, where it is, every move of it."""

    lot: ProductLot
    container: str
    received: str
    state: str
    word: str
    expires: str
    here: tuple[StockRow, ...]
    moves: tuple[MoveRow, ...]


def stock_page(person: Person, today: date) -> StockPage:
    """What is on hand by place, what to order, what does not agree; a fixed few queries."""
    lots = {lot.pk: lot for lot in lots_for(person)}
    places = {place.pk: place for place in places_for(person)}
    sums = on_hand()
    rows = [
        _row(lots[lot_id], places[place_id], quantity, today)
        for (lot_id, place_id), quantity in sums.items()
        if quantity and lot_id in lots and place_id in places
    ]
    return StockPage(
        rows=tuple(sorted(rows, key=_by_product)),
        reorder=_reorder(person, rows),
        agreements=_agreements(person, today - LOOK_BACK),
        items=tuple(open_items(person, FINDINGS)),
        places=tuple(places.values()),
        since=short_day(today - LOOK_BACK, True),
    )


def _by_product(row: StockRow) -> tuple[str, str, date, int]:
    product = row.lot.label_version.product.name
    return product, row.place.name, row.lot.received_on, row.lot.pk


def _row(lot: ProductLot, place: StockPlace, quantity: int, today: date) -> StockRow:
    state, word = _standing(lot, quantity, today)
    return StockRow(
        lot=lot,
        place=place,
        quantity=quantity,
        amount=shown(quantity, lot.container_unit),
        expires=_day(lot.expires_on),
        state=state,
        word=word,
    )


def _standing(lot: ProductLot, quantity: int, today: date) -> tuple[str, str]:
    """A lot is judged by its own label until that one is withdrawn (9-trade 10)."""
    last_day = lot.label_version.not_to_be_used_after
    if quantity < 0:
        return "refused", "Below zero"
    if last_day is not None and last_day < today:
        return "refused", "Label withdrawn"
    return expiry_words(lot.expires_on, today)


def _day(day: date | None) -> str:
    return short_day(day, True) if day else ""


def shown(quantity: int, unit: str) -> str:
    """A quantity, also one below zero, in a unit of its kind."""
    return display(Amount(from_canonical(quantity, unit), unit))


def _reorder(person: Person, rows: Iterable[StockRow]) -> tuple[ReorderRow, ...]:
    have: dict[tuple[int, int], int] = defaultdict(int)
    for row in rows:
        have[row.lot.branch_id, row.lot.label_version.product_id] += row.quantity
    levels = levels_by_product(person)
    return tuple(_reorder_row(one, have[key]) for key, one in levels.items())


def _reorder_row(level: ReorderLevel, have: int) -> ReorderRow:
    return ReorderRow(
        branch=level.branch.name,
        product=level.product.name,
        amount=shown(have, level.unit),
        level=f"{level.amount} {unit_word(level.unit)}",
        is_short=have < canonical(Decimal(level.amount), level.unit),
    )


def _agreements(person: Person, since: date) -> tuple[Agreement, ...]:
    """Records that took another amount than they say, summed by product; none when all agree."""
    records = ApplicationRecord.objects.filter(
        branch__in=branches_for(person), applied_on__gte=since, label_version__isnull=False
    )
    moves = StockMove.objects.filter(kind=MoveKind.USE, record__in=records)
    logged = _totals(records.exclude(entry__in=("void", "correction")), "")
    taken = _totals(moves, "record__")
    return tuple(_agreement(key, logged.get(key, 0), taken.get(key, 0)) for key in sorted(logged))


Key = tuple[str, str, str]


def _totals(rows: QuerySet[ApplicationRecord] | QuerySet[StockMove], path: str) -> dict[Key, int]:
    names = (f"{path}branch_name", f"{path}product_name")
    columns = ("ul", "mg") if path else ("product_ul", "product_mg")
    grouped = rows.order_by().values_list(*names)
    found: dict[Key, int] = {}
    for unit, column in zip(CANONICAL.values(), columns, strict=True):
        for branch, product, total in grouped.annotate(total=Coalesce(Sum(column), 0)):
            if total:
                found[branch, product, unit] = total
    return found


def _agreement(key: Key, logged: int, taken: int) -> Agreement:
    branch, product, canonical_unit = key
    unit = "fl_oz" if canonical_unit == "uL" else "oz_wt"
    return Agreement(
        branch=branch,
        product=product,
        logged=shown(logged, unit),
        taken=shown(taken, unit),
        difference=shown(logged - taken, unit) if logged != taken else "",
    )


def lot_page(person: Person, pk: int, today: date) -> LotPage:
    """One lot with what is left where and its moves, newest first."""
    lot = lot_for(person, pk)
    places = {place.pk: place for place in places_for(person)}
    sums = on_hand([lot.pk])
    state, word = _standing(lot, min(sums.values(), default=0), today)
    return LotPage(
        lot=lot,
        container=f"{lot.container_size} {unit_word(lot.container_unit)}",
        received=_day(lot.received_on),
        state=state,
        word=word,
        expires=_day(lot.expires_on),
        here=tuple(
            _row(lot, places[place_id], quantity, today)
            for (_, place_id), quantity in sums.items()
            if place_id in places
        ),
        moves=tuple(_move_row(move, lot) for move in moves_of(lot.pk)),
    )


def _move_row(move: StockMove, lot: ProductLot) -> MoveRow:
    places = [str(place) for place in (move.from_place, move.to_place) if place is not None]
    disposal = ", ".join(text for text in (move.disposed_how, move.disposed_where) if text)
    taken_back = "takes back an earlier move" if move.corrects_id else ""
    is_settled = bool(taken_back) or hasattr(move, "corrected_by")
    return MoveRow(
        move=move,
        on=short_day(move.at.date(), True),
        places=" to ".join(places),
        amount=shown(move.quantity, lot.container_unit),
        said=", ".join(text for text in (taken_back, move.reason, disposal) if text),
        may_be_taken_back=move.kind != MoveKind.USE and not is_settled,
    )
