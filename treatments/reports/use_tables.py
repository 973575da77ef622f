"""Cells of totals as tables: liquids and dry products side by side, never added together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from sites.rules.units import group
from treatments.reports.use_paper import Block, Column, Row, Value
from treatments.rules.totals import AXIS_WORDS, PERIODS, Axis, Cell, Tally, grand_total, regrouped
from treatments.rules.totals_ingredients import (
    Strengths,
    in_unit,
    ingredient_totals,
    mass_of,
    rounded,
)

NO_NUMBER = "No number"
NO_DENSITY = "Cannot be given in kg: no density on file"
NO_STRENGTH = "no pounds per gallon on file"
NO_INGREDIENT = "No active ingredient on file"
BY_TWO = "Liquid and dry product are not added together."
UL_A_LITER, MG_A_KILOGRAM = 1_000_000, 1_000_000


@dataclass(frozen=True)
class Units:
    """What a paper says volumes and masses in, and with how many decimals."""

    volume: str = "gal"
    mass: str = "lb"
    places: int = 4
    ingredient_places: int = 6


US, METRIC = Units(), Units("L", "kg", 3, 6)


def amount_columns(units: Units) -> tuple[Column, ...]:
    """The columns that every table of products ends with."""
    return (
        Column("Records", is_number=True),
        Column("Without amount", is_number=True),
        Column(f"Liquid, {units.volume}", is_number=True),
        Column(f"Dry, {units.mass}", is_number=True),
        Column("Active ingredient"),
        Column("Liquid, µL", is_number=True, is_exact=True),
        Column("Dry, mg", is_number=True, is_exact=True),
    )


def amounts(tally: Tally, ingredients: str, units: Units) -> Row:
    """The values under `amount_columns`; nothing where no record has that kind of amount."""
    return (
        tally.records,
        tally.without_amount or None,
        *liquid_and_dry(tally, units),
        ingredients,
        tally.ul if tally.by_volume else None,
        tally.mg if tally.by_mass else None,
    )


def liquid_and_dry(tally: Tally, units: Units) -> tuple[Decimal | None, Decimal | None]:
    """Volume and mass of undiluted product, each rounded once."""
    liquid = rounded(in_unit(tally.ul, units.volume), units.places)
    dry = rounded(in_unit(tally.mg, units.mass), units.places)
    return liquid if tally.by_volume else None, dry if tally.by_mass else None


def ingredient_words(cell: Cell, strengths: Strengths, units: Units) -> str:
    """Each active ingredient with its mass, or why there is none."""
    if not cell.tally.by_volume and not cell.tally.by_mass:
        return ""
    found = []
    for strength in strengths.get(cell.product, ()):
        mass = mass_of(strength, cell.tally)
        said = NO_STRENGTH if mass is None else _mass_words(mass, units)
        found.append(f"{strength.name} {said}" if mass is not None else f"{strength.name}: {said}")
    return "; ".join(found) or NO_INGREDIENT


def _mass_words(mass: Fraction, units: Units) -> str:
    value = rounded(in_unit(mass, units.mass), units.ingredient_places)
    return f"{group(value, units.ingredient_places)} {units.mass}"


def totals_block(
    cells: Sequence[Cell], axes: Sequence[Axis], strengths: Strengths, units: Units
) -> Block:
    """One row a group and product."""
    heads = (*map(_axis_column, axes), *_product_columns())
    return _block("What was used", cells, heads, _totals_row, strengths, units)


def _axis_column(axis: Axis) -> Column:
    return Column(AXIS_WORDS[axis], is_short=axis in PERIODS)


def annual_block(cells: Sequence[Cell], strengths: Strengths, units: Units) -> Block:
    """One row a registration number and ZIP; `cells` are by ZIP and county."""
    heads = tuple(map(Column, ("Registration number", "Product", "ZIP", "County")))
    by_number = sorted(cells, key=lambda one: (*_number_first(one), one.group))
    title = "Product by registration number and ZIP"
    return _block(title, by_number, heads, _annual_row, strengths, units)


def county_block(cells: Sequence[Cell], strengths: Strengths, units: Units) -> Block:
    """One row a county and product; `cells` are by county."""
    heads = (Column("County"), *_product_columns())
    return _block("Product by county", cells, heads, _totals_row, strengths, units)


def _product_columns() -> tuple[Column, Column]:
    return Column("Product"), Column("Registration number")


def _totals_row(cell: Cell) -> Row:
    number = cell.product.registration_number or NO_NUMBER
    return (*cell.group, cell.product.name, number)


def _annual_row(cell: Cell) -> Row:
    return (cell.product.registration_number or NO_NUMBER, cell.product.name, *cell.group)


def _number_first(cell: Cell) -> tuple[str, str]:
    return cell.product.registration_number or "~", cell.product.name


def _block(
    title: str,
    cells: Sequence[Cell],
    heads: tuple[Column, ...],
    said: Callable[[Cell], Row],
    strengths: Strengths,
    units: Units,
) -> Block:
    rows = tuple(
        (*said(cell), *amounts(cell.tally, ingredient_words(cell, strengths, units), units))
        for cell in cells
    )
    footer = _footer(heads, amounts(grand_total(cells), "", units)) if rows else ()
    return Block(title, BY_TWO, (*heads, *amount_columns(units)), rows, footer)


def _footer(heads: Sequence[Column], values: Row) -> Row:
    return ("Total", *(None for _ in heads[1:]), *values)


def ingredients_block(
    cells: Sequence[Cell], axes: Sequence[Axis], strengths: Strengths, units: Units
) -> Block:
    """Active ingredient by group: a mass for liquids and dry products alike."""
    heads = (*map(_axis_column, axes), Column("Active ingredient"))
    columns = (
        Column("Records counted", is_number=True),
        Column(f"Mass, {units.mass}", is_number=True),
        Column("Not counted"),
    )
    groups = dict.fromkeys(cell.group for cell in cells)
    rows = [row for group_ in groups for row in _ingredient_rows(cells, group_, strengths, units)]
    note = "Liquid by pounds per gallon, dry product by percent by weight, as the products say."
    return Block("Active ingredient", note, (*heads, *columns), tuple(rows))


def _ingredient_rows(
    cells: Sequence[Cell], group_: tuple[str, ...], strengths: Strengths, units: Units
) -> list[Row]:
    here = [cell for cell in cells if cell.group == group_]
    rows: list[Row] = []
    for one in ingredient_totals(here, strengths):
        mass = rounded(in_unit(one.mg, units.mass), units.ingredient_places)
        unknown = "; ".join(f"{name}: {NO_STRENGTH}" for name in one.unknown)
        rows.append((*group_, one.name, one.records, mass if one.records else None, unknown))
    return rows


def mass_block(cells: Sequence[Cell], strengths: Strengths) -> Block:
    """One row a product in kg as it leaves the container; liquids have no density here."""
    columns = (
        *_product_columns(),
        Column("Records", is_number=True),
        Column("Without amount", is_number=True),
        Column("Liquid, L", is_number=True),
        Column("Mass of product, kg"),
        Column("Where 1 L counts as 1 kg", is_number=True),
        Column("Active ingredient"),
        Column("Liquid, µL", is_number=True, is_exact=True),
        Column("Dry, mg", is_number=True, is_exact=True),
    )
    rows = tuple(_mass_row(cell, strengths) for cell in cells)
    return Block("Undiluted product in kg", BY_TWO, columns, rows, _mass_footer(cells))


def _mass_row(cell: Cell, strengths: Strengths) -> Row:
    tally = cell.tally
    words = ingredient_words(cell, strengths, METRIC)
    return (*_totals_row(cell)[-2:], *_mass_values(tally, words))


def _mass_values(tally: Tally, ingredients: str) -> Row:
    liquid, dry = liquid_and_dry(tally, METRIC)
    return (
        tally.records,
        tally.without_amount or None,
        liquid,
        _kilograms(tally, dry),
        liter_as_kilogram(tally),
        ingredients,
        tally.ul if tally.by_volume else None,
        tally.mg if tally.by_mass else None,
    )


def _kilograms(tally: Tally, dry: Decimal | None) -> Value:
    if not tally.by_volume:
        return dry
    return f"{dry} kg dry; liquid: no density on file" if tally.by_mass else NO_DENSITY


def liter_as_kilogram(tally: Tally) -> Decimal | None:
    """Dry kg and liters added, as one agency lets it be done; no density is behind it."""
    if not tally.by_volume and not tally.by_mass:
        return None
    return rounded(Fraction(tally.ul, UL_A_LITER) + Fraction(tally.mg, MG_A_KILOGRAM), 3)


def _mass_footer(cells: Sequence[Cell]) -> Row:
    return ("Total", None, *_mass_values(grand_total(cells), "")) if cells else ()


def bars_of(cells: Iterable[Cell], axes: Sequence[Axis]) -> list[tuple[str, Tally]]:
    """What a chart shows: the first axis, or the products where there is none."""
    if not axes:
        return [(cell.product.name, cell.tally) for cell in regrouped(cells, lambda _: ())]
    grouped = regrouped(cells, lambda cell: cell.group[:1], by_product=False)
    return [(cell.group[0], cell.tally) for cell in grouped]
