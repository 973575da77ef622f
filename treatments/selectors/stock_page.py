"""The pages of stock in words: what is where, what runs out, what does not agree."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from accounts.rules.day_words import short_day
from accounts.selectors.open_items import ItemRow, item_rows
from sites.rules.units import canonical, unit_word
from treatments.models import ProductLot, ReorderLevel, StockMove, StockPlace
from treatments.rules.stock import CLOSED_BY_HAND, FINDING_WORDS, MoveKind, PlaceKind
from treatments.selectors.stock import lot_for, lots_for, moves_of, on_hand, places_for
from treatments.selectors.stock import reorder_levels as levels_by_product
from treatments.selectors.stock_agreement import Comparison, compare_use
from treatments.selectors.stock_rows import (
    REFUSED,
    StockRow,
    day_or_nothing,
    shown,
    standing,
    stock_row,
    stock_rows,
    what_to_do,
)
from treatments.selectors.vehicles import VehicleRow, vehicle_rows

if TYPE_CHECKING:
    from accounts.models import OpenItem, Person

LOOK_BACK = timedelta(days=90)


@dataclass(frozen=True)
class ReorderRow:
    """How much of a product a branch has, and whether that is enough."""

    branch: str
    product: str
    amount: str
    level: str
    is_short: bool


@dataclass(frozen=True)
class StockPage:
    """Everything on the sheet of stock."""

    rows: tuple[StockRow, ...]
    reorder: tuple[ReorderRow, ...]
    use: Comparison
    findings: tuple[ItemRow, ...]
    places: tuple[StockPlace, ...]
    vehicles: tuple[VehicleRow, ...]

    @property
    def items(self) -> tuple[OpenItem, ...]:
        return tuple(row.item for row in self.findings)

    @property
    def closed_by_hand(self) -> tuple[str, ...]:
        return CLOSED_BY_HAND

    @property
    def lots(self) -> int:
        return len({row.lot.pk for row in self.rows})

    @property
    def withdrawn(self) -> int:
        return len({row.lot.pk for row in self.rows if row.to_do and row.state == REFUSED})

    @property
    def to_order(self) -> int:
        return sum(row.is_short for row in self.reorder)

    @property
    def to_check(self) -> int:
        return sum(row.standing.is_overdue for row in self.vehicles)


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
    to_do: str
    expires: str
    here: tuple[StockRow, ...]
    moves: tuple[MoveRow, ...]


def stock_page(
    person: Person, today: date, place_id: int | None = None, product_id: int | None = None
) -> StockPage:
    """What is on hand by place, what to order, what does not agree; a fixed few queries.

    `place_id` and `product_id` narrow only the list of what is on hand.
    """
    places = {place.pk: place for place in places_for(person)}
    rows = stock_rows(lots_for(person), places, on_hand(), today)
    return StockPage(
        rows=tuple(row for row in rows if _is_asked(row, place_id, product_id)),
        reorder=_reorder(person, rows),
        use=compare_use(person, today - LOOK_BACK),
        findings=item_rows(person, FINDING_WORDS),
        places=tuple(places.values()),
        vehicles=vehicle_rows(person, today),
    )


def _is_asked(row: StockRow, place_id: int | None, product_id: int | None) -> bool:
    is_place = place_id in (None, row.place.pk)
    return is_place and product_id in (None, row.lot.label_version.product_id)


def _reorder(person: Person, rows: Iterable[StockRow]) -> tuple[ReorderRow, ...]:
    """What is usable: not expired, not withdrawn, not rinsate."""
    have: dict[tuple[int, int], int] = defaultdict(int)
    for row in rows:
        if not row.is_usable or row.place.kind == PlaceKind.RINSATE:
            continue
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


def lot_page(person: Person, pk: int, today: date) -> LotPage:
    """One lot with what is left where and its moves, newest first."""
    lot = lot_for(person, pk)
    places = {place.pk: place for place in places_for(person)}
    sums = on_hand([lot.pk])
    clock = ZoneInfo(lot.branch.time_zone)
    state, word = standing(lot, min(sums.values(), default=0), today)
    return LotPage(
        lot=lot,
        container=f"{lot.container_size} {unit_word(lot.container_unit)}",
        received=day_or_nothing(lot.received_on),
        state=state,
        word=word,
        to_do=what_to_do(lot, sum(sums.values()), today),
        expires=day_or_nothing(lot.expires_on),
        here=tuple(
            stock_row(lot, places[place_id], quantity, today)
            for (_, place_id), quantity in sums.items()
            if place_id in places
        ),
        moves=tuple(_move_row(move, lot, clock) for move in moves_of(lot.pk)),
    )


def _move_row(move: StockMove, lot: ProductLot, clock: ZoneInfo) -> MoveRow:
    places = [str(place) for place in (move.from_place, move.to_place) if place is not None]
    disposal = ", ".join(text for text in (move.disposed_how, move.disposed_where) if text)
    taken_back = "takes back an earlier move" if move.corrects_id else ""
    is_settled = bool(taken_back) or hasattr(move, "corrected_by")
    return MoveRow(
        move=move,
        on=short_day(move.at.astimezone(clock).date(), True),
        places=" to ".join(places),
        amount=shown(move.quantity, lot.container_unit),
        said=", ".join(text for text in (taken_back, move.reason, disposal) if text),
        may_be_taken_back=move.kind != MoveKind.USE and not is_settled,
    )
