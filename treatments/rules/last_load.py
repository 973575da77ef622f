"""What to do about a last load that is too small to measure: three ways, in this order.

Equal loads, a bigger tank, or a practical batch whose rest goes to the next stop of the day that
the label allows. Under a quarter of the tank is small: common practice, no source. A load whose
product is under one mark of the measure cannot be measured at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from enum import StrEnum

from sites.rules.branch_units import US, spray

NOTHING = Decimal(0)
HUNDREDTH = Decimal("0.01")  # of a gallon, as a batch is said
SMALL_SHARE = 4  # a last load under the fourth part of the tank (common practice, no source)


class Way(StrEnum):
    """How a small last load is avoided."""

    EQUAL = "equal"
    BIGGER_TANK = "bigger_tank"
    BATCH = "batch"


@dataclass(frozen=True)
class Tank:
    """Another tank of the branch: its name and gallons when full."""

    name: str
    gallons: Decimal


@dataclass(frozen=True)
class NextStop:
    """A later stop of the day: whether the label allows the spray there, and how much it takes."""

    name: str
    is_allowed: bool
    takes_gal: Decimal


@dataclass(frozen=True)
class LastLoad:
    """One way: so many loads of `gallons` each, from `tank`; `rest_gal` goes to `next_stop`.

    For a batch `gallons` is the last load only; the loads before it fill the tank.
    """

    way: Way
    loads: int
    gallons: Decimal
    tank: str = ""
    rest_gal: Decimal = Decimal(0)
    next_stop: str = ""

    @property
    def words(self) -> str:
        """The way in one sentence, in gallons."""
        return self.said(US)

    def said(self, system: str) -> str:
        """The way in one sentence, spray in the units of the branch."""
        each = spray(self.gallons, system)
        if self.way == Way.EQUAL:
            return f"Mix {self.loads} equal loads of {each}."
        if self.way == Way.BIGGER_TANK:
            loads = "1 load" if self.loads == 1 else f"{self.loads} equal loads"
            return f"Take {self.tank}: {loads} of {each}."
        return (
            f"Mix {each} for the last load and keep the rest, {spray(self.rest_gal, system)}, for "
            f"{self.next_stop}."
        )


def is_small(finished_gal: Decimal, tank_gal: Decimal) -> bool:
    """Whether the last load is under a quarter of the tank; a quarter itself is not."""
    rest = finished_gal % tank_gal
    return rest > 0 and rest * SMALL_SHARE < tank_gal


def is_hard(finished_gal: Decimal, tank_gal: Decimal, least_gal: Decimal) -> bool:
    """Whether the last load is small, or under `least_gal`, which hold one mark of product."""
    last = finished_gal % tank_gal or tank_gal
    return is_small(finished_gal, tank_gal) or last < least_gal


def ways(
    finished_gal: Decimal,
    tank_gal: Decimal,
    tanks: Iterable[Tank] = (),
    next_stops: Sequence[NextStop] = (),
    least_gal: Decimal = NOTHING,
) -> tuple[LastLoad, ...]:
    """The ways to avoid a last load that is hard to measure, the best first; else none.

    `finished_gal` is what the stop takes, `tank_gal` a full tank, both above zero; `next_stops`
    in the order of the route; no load of any way is under `least_gal`. A single load has no equal
    loads and no use for a bigger tank.
    """
    if not is_hard(finished_gal, tank_gal, least_gal):
        return ()
    found = [_equal(finished_gal, tank_gal), _bigger(finished_gal, tank_gal, tanks, least_gal)]
    if finished_gal <= tank_gal:
        found = []
    found += [_batch(finished_gal, tank_gal, next_stops, least_gal)]
    return tuple(way for way in found if way and way.gallons >= least_gal)


def _count(finished_gal: Decimal, tank_gal: Decimal) -> int:
    return int((finished_gal / tank_gal).to_integral_value(ROUND_CEILING))


def _equal(finished_gal: Decimal, tank_gal: Decimal) -> LastLoad:
    loads = _count(finished_gal, tank_gal)
    return LastLoad(Way.EQUAL, loads, finished_gal / loads)


def _bigger(
    finished_gal: Decimal, tank_gal: Decimal, tanks: Iterable[Tank], least_gal: Decimal
) -> LastLoad | None:
    """The smallest bigger tank that takes fewer loads and no small one."""
    now = _count(finished_gal, tank_gal)
    for tank in sorted(tanks, key=lambda one: (one.gallons, one.name)):
        loads = _count(finished_gal, tank.gallons) if tank.gallons > tank_gal else now
        fits = loads < now and not is_small(finished_gal, tank.gallons)
        if fits and finished_gal / loads >= least_gal:
            return LastLoad(Way.BIGGER_TANK, loads, finished_gal / loads, tank=tank.name)
    return None


def _batch(
    finished_gal: Decimal, tank_gal: Decimal, next_stops: Sequence[NextStop], least_gal: Decimal
) -> LastLoad | None:
    """A quarter of the tank or what holds a mark, whose rest the next allowed stop can take."""
    batch = max(tank_gal / SMALL_SHARE, least_gal.quantize(HUNDREDTH, ROUND_CEILING))
    rest = batch - (finished_gal % tank_gal or tank_gal)
    for stop in next_stops:
        if stop.is_allowed and stop.takes_gal >= rest > 0 and batch <= tank_gal:
            loads = _count(finished_gal, tank_gal)
            return LastLoad(Way.BATCH, loads, batch, rest_gal=rest, next_stop=stop.name)
    return None
