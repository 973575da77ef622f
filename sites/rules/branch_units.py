"""Spray, outputs and rates in the units of a branch; what a label says stays in its own.

Factors: NIST Handbook 44, Appendix C (read), by `sites.rules.units`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from sites.rules.units import (
    METRIC_SHELF,
    SPRAY_UNITS,
    Amount,
    display,
    from_canonical,
    kind_of,
    plain,
    unit_word,
)

US = "us"
METRIC = "metric"
ACTIVE_PLACES: Mapping[str, tuple[str, int]] = {US: ("lb", 6), METRIC: ("g", 3)}


@dataclass(frozen=True)
class PerArea:
    """What an amount is counted on: `small` and `large` areas, with their words."""

    small: Amount
    small_words: str
    large: Amount
    large_words: str


PER_AREA: Mapping[str, PerArea] = {
    US: PerArea(Amount(Decimal(1000), "ft2"), "1,000 sq ft", Amount(Decimal(1), "acre"), "acre"),
    METRIC: PerArea(Amount(Decimal(100), "m2"), "100 m²", Amount(Decimal(1), "ha"), "hectare"),
}
# what a hectare is said in, where 100 m² is said in mL or g
LARGE_UNITS: Mapping[str, str] = {"mL": "L", "g": "kg"}


def spray(gallons: Decimal, system: str = US) -> str:
    """Finished spray, given in gallons: 0.60 gal, or 2.27 L in a metric branch."""
    return display(Amount(gallons, "gal").to(SPRAY_UNITS[system]), 2)


def spray_of(ul: int, system: str = US) -> str:
    """Finished spray, given in whole uL, as `spray` says it."""
    return spray(from_canonical(ul, "gal"), system)


def tank(gallons: Decimal, system: str = US) -> str:
    """What a tank holds, given in gallons: 4 gal, 15.14 L; no idle zeros."""
    held = Amount(gallons, "gal").to(SPRAY_UNITS[system])
    return f"{plain(round(held.value, 3 if system == US else 2))} {unit_word(held.unit)}"


def output(gal_per_1000: Decimal, system: str = US) -> str:
    """A measured output, given in gallons on 1,000 sq ft: also 4.07 L per 100 m²."""
    per = PER_AREA[system]
    share = per.small.to("ft2").value / 1000
    return f"{spray(gal_per_1000 * share, system)} per {per.small_words}"


def active(pounds: Decimal, system: str = US) -> str:
    """Active ingredient, given in pounds: 0.008333 lb, or 3.780 g in a metric branch."""
    unit, places = ACTIVE_PLACES[system]
    return f"{display(Amount(pounds, 'lb').to(unit), places)} active"


def product(amount: Amount, system: str, places: int, *, round_down: bool = False) -> str:
    """An amount of product: in its own unit, or in mL or g in a metric branch."""
    return display(_shelf(amount, system), places, round_down=round_down)


def on_area(amount: Amount, area_sq_ft: Decimal, system: str = US) -> str:
    """What an amount on an area above zero is on a small and on a large one.

    31.830 mL per 100 m², 3.18 L per hectare; 1.000 fl oz per 1,000 sq ft, 43.56 fl oz per acre.
    """
    per, shelf = PER_AREA[system], _shelf(amount, system)
    small, large = (
        Amount(shelf.value * one.to("ft2").value / area_sq_ft, shelf.unit)
        for one in (per.small, per.large)
    )
    if system == METRIC:
        large = large.to(LARGE_UNITS.get(large.unit, large.unit))
    return f"{display(small, 3)} per {per.small_words}, {display(large, 2)} per {per.large_words}"


def counted_on(amount: Amount, per: Amount, system: str = US) -> str:
    """What an amount is on so much of a length, space or count.

    0.500 fl oz per 10 linear ft, or 48.514 mL per 10 m; 1.500 oz (wt) per placement.
    """
    if per.unit == "each":
        return f"{product(amount, system, 3)} per placement"
    on = _metric_size(per) if system == METRIC else per
    share = Amount(amount.value * on.value / per.to(on.unit).value, amount.unit)
    number = "" if on.value == 1 else f"{on.value:,f} "
    return f"{product(share, system, 3)} per {number}{unit_word(on.unit)}"


def _metric_size(per: Amount) -> Amount:
    """What the metric branch counts a rate on that its label counts in feet or gallons."""
    known = {
        "length": Amount(Decimal(10), "m"),
        "space": Amount(Decimal(100), "m3"),
        "volume": Amount(Decimal(1), "L"),
        "area": PER_AREA[METRIC].small,
    }
    return known.get(per.kind, per)


def _shelf(amount: Amount, system: str) -> Amount:
    if system != METRIC:
        return amount
    return amount.to(METRIC_SHELF.get(kind_of(amount.unit), amount.unit))
