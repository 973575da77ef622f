"""Active ingredient in what was used: exact fractions, rounded once where they are printed.

From liquid: gallons times pounds of active ingredient a gallon; from dry product: its mass times
percent by weight (both read: trade arithmetic of the extension services).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Context, Decimal
from fractions import Fraction

from sites.rules.units import Amount
from treatments.rules.totals import Cell, ProductKey, Tally

UL_A_GALLON = Fraction(Amount(Decimal(1), "gal").exact)
MG_A_POUND = Fraction(Amount(Decimal(1), "lb").exact)
MANY_DIGITS = Context(prec=60)


@dataclass(frozen=True)
class Strength:
    """One active ingredient of a product: percent by weight, pounds in a gallon if it has that."""

    name: str
    percent_by_weight: Decimal
    pounds_per_gallon: Decimal | None = None


Strengths = Mapping[ProductKey, Sequence[Strength]]


@dataclass
class IngredientTotal:
    """Milligrams of one active ingredient, and what could not be counted of which products."""

    name: str
    mg: Fraction = Fraction(0)
    records: int = 0
    unknown: dict[str, int] = field(default_factory=dict)


def mass_of(strength: Strength, tally: Tally) -> Fraction | None:
    """Milligrams of an active ingredient in a tally; None when a liquid has no lb per gallon."""
    dry = tally.mg * Fraction(strength.percent_by_weight) / 100
    if not tally.by_volume:
        return dry
    if strength.pounds_per_gallon is None:
        return None
    pounds = tally.ul / UL_A_GALLON * Fraction(strength.pounds_per_gallon)
    return dry + pounds * MG_A_POUND


def ingredient_totals(cells: Iterable[Cell], strengths: Strengths) -> list[IngredientTotal]:
    """The active ingredients of every cell by name.

    A liquid without pounds a gallon is named with its number of records and adds nothing.
    """
    found: dict[str, IngredientTotal] = {}
    for cell in cells:
        for strength in strengths.get(cell.product, ()):
            total = found.setdefault(strength.name, IngredientTotal(strength.name))
            _add(total, cell, mass_of(strength, cell.tally))
    return sorted(found.values(), key=lambda one: one.name)


def _add(total: IngredientTotal, cell: Cell, mass: Fraction | None) -> None:
    counted = cell.tally.by_volume + cell.tally.by_mass
    if mass is None:
        before = total.unknown.get(cell.product.name, 0)
        total.unknown[cell.product.name] = before + counted
    else:
        total.mg += mass
        total.records += counted


def rounded(value: Fraction, places: int) -> Decimal:
    """A fraction as a decimal, half-even, from its exact value."""
    scaled = round(value * 10**places)  # Python rounds an exact half to the even number
    return Decimal(scaled).scaleb(-places, MANY_DIGITS)


def in_unit(mg_or_ul: Fraction | int, unit: str) -> Fraction:
    """An exact number of canonical units in another unit of their kind."""
    return Fraction(mg_or_ul) / Fraction(Amount(Decimal(1), unit).exact)
