"""Finished spray parted into tanks, and the order of filling one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from accounts.refusals import Refused
from sites.rules.branch_units import US, spray
from sites.rules.units import Amount
from treatments.rules.measures import Measure, reading

MOST_LOADS = 200
LISTED = "the amount listed"  # where a load as it stands cannot be measured


@dataclass(frozen=True)
class TankLoad:
    """One tank: gallons when full, product and water in it; `measured` is rounded down.

    A load under a mark of the measure keeps its exact amount: nobody can pour it as it stands.
    """

    number: int
    finished_gal: Decimal
    product: Amount
    water_gal: Decimal
    measured: Amount
    is_under_a_mark: bool = False


def tank_loads(
    finished_gal: Decimal, tank_gal: Decimal, product: Amount, measure: Measure | None
) -> tuple[TankLoad, ...]:
    """ceil(V / tank) loads, the last one proportional.

    Refused: more than 200, and less product than a mark of the measure both here and in a full
    tank, which no other parting into loads helps.
    """
    count = int((finished_gal / tank_gal).to_integral_value(ROUND_CEILING))
    if count > MOST_LOADS:
        raise Refused("loads", f"{count:,} loads is no day's work. Check the area and the tank.")
    full = Amount(product.value * tank_gal / finished_gal, product.unit)
    if measure is not None and measure.is_under(full):
        measure.down(product)
    rest = finished_gal - (count - 1) * tank_gal
    volumes = [tank_gal] * (count - 1) + [rest]
    return tuple(
        _load(
            number, gallons, Amount(product.value * gallons / finished_gal, product.unit), measure
        )
        for number, gallons in enumerate(volumes, start=1)
    )


def _load(number: int, gallons: Decimal, share: Amount, measure: Measure | None) -> TankLoad:
    takes_room = share.to("gal").value if share.kind == "volume" else Decimal(0)
    water = gallons - takes_room
    if measure is None:
        return TankLoad(number, gallons, share, water, share)
    if measure.is_under(share):
        return TankLoad(number, gallons, share, water, share.to(measure.unit), is_under_a_mark=True)
    return TankLoad(number, gallons, share, water, measure.down(share))


def small_last_load(finished_gal: Decimal, tank_gal: Decimal, system: str = US) -> tuple[str, ...]:
    """A last load under a quarter of the tank is hard to measure (common practice, no source)."""
    full, rest = divmod(finished_gal, tank_gal)
    if full == 0 or rest == 0 or rest * 4 >= tank_gal:
        return ()
    left = spray(rest, system)
    return (f"The last load is only {left}, under a quarter of the tank: hard to measure.",)


def under_a_mark(loads: Iterable[TankLoad], measure: Measure | None) -> tuple[str, ...]:
    """Which loads the measure is too coarse for, in one sentence."""
    numbers = [str(load.number) for load in loads if load.is_under_a_mark]
    if measure is None or not numbers:
        return ()
    words = f"Load {numbers[0]} takes" if len(numbers) == 1 else f"{len(numbers)} loads take"
    return (
        f"{words} less than one mark of this measure, {measure.one_mark}. Mix it in one of the "
        "ways below, or take a finer measure.",
    )


def fill_steps(load: TankLoad, measure: Measure | None = None, system: str = US) -> tuple[str, ...]:
    """Order of filling one load with its safety (common practice, no source; the label governs)."""
    half, whole = spray(load.finished_gal / 2, system), spray(load.finished_gal, system)
    return (
        "Put on what the label asks for before you open the product.",
        f"Fill half the water, {half}. Keep the hose above the water line.",
        f"Measure {LISTED if load.is_under_a_mark else reading(load.measured, measure)} "
        "below eye level, "
        "in a measure kept for pesticides only.",
        "Pour it in and rinse the measure into the tank.",
        "Close the tank, shake it, let the pressure out.",
        f"Fill with water to the {whole} line and shake again.",
    )
