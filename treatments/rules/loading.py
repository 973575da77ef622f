"""What to put on a truck: needed against what is aboard, in whole containers from the store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from sites.rules.units import Amount
from treatments.rules.applications import TreatedSize
from treatments.rules.products import RateBasis
from treatments.rules.rates import IN_SPRAY, Rate

COUNTED_KINDS = {
    RateBasis.LINEAR: "length",
    RateBasis.COUNT: "count",
    RateBasis.SPACE_VOLUME: "space",
}


@dataclass(frozen=True)
class ShelfLot:
    """A lot in the store: what is there and what one container holds, in whole uL or mg."""

    number: str
    place: str
    quantity: int
    container: int


@dataclass(frozen=True)
class Take:
    """So much of one lot to carry to the truck; `containers` is 0 for less than a whole one."""

    number: str
    place: str
    quantity: int
    containers: int


@dataclass(frozen=True)
class LoadAnswer:
    """What is short aboard, what to take for it, and what the store does not have."""

    short: int
    takes: tuple[Take, ...]
    missing: int


def load_of(needed: int, aboard: int, shelf: Sequence[ShelfLot]) -> LoadAnswer:
    """Whole containers, the oldest lot first, until nothing is short; an opened one as it is.

    All in whole uL or mg of one product; `aboard` may be below zero, a lot at or below zero gives
    nothing.
    """
    short = max(0, needed - aboard)
    rest, takes = short, []
    for lot in shelf:
        if rest <= 0:
            break
        take = _take(lot, rest)
        if take.quantity:
            takes.append(take)
            rest -= take.quantity
    return LoadAnswer(short, tuple(takes), max(0, rest))


def _take(lot: ShelfLot, rest: int) -> Take:
    wanted = -(-rest // lot.container)
    quantity = max(0, min(lot.quantity, wanted * lot.container))
    whole = quantity // lot.container if quantity % lot.container == 0 else 0
    return Take(lot.number, lot.place, quantity, whole)


def share_of(amount: int, part: int, whole: int) -> int:
    """The part of a record's product that went on one zone, rounded up; all where not measured."""
    return amount if part <= 0 or whole <= 0 else -(-amount * part // whole)


def label_amount(
    basis: RateBasis, value: Decimal, unit: str, size: TreatedSize, gallons_per_1000: Decimal | None
) -> Amount | None:
    """Product by the label for one zone; None where it counts what the zone was not measured by.

    `value` in `unit` on the usual quantity of `basis`; `gallons_per_1000` of finished spray.
    """
    rate = Rate.of(basis, value, unit)
    if basis in IN_SPRAY:
        return _in_spray(rate, size, gallons_per_1000)
    if basis == RateBasis.AREA:
        return rate.product_on(size.area) if size.area.value else None
    counted = Amount(Decimal(size.size), size.unit)
    return rate.product_on(counted) if counted.kind == COUNTED_KINDS[basis] else None


def _in_spray(rate: Rate, size: TreatedSize, gallons_per_1000: Decimal | None) -> Amount | None:
    if gallons_per_1000 is None or not size.area.value:
        return None
    gallons = size.area.to("ft2").value / 1000 * gallons_per_1000
    return rate.product_on(Amount(gallons, "gal"))
