"""What is not in a total, and why, in sentences: nothing is left out in silence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from treatments.rules.totals import NO_COUNTY, NO_ZIP, Cell, ProductKey, Tally
from treatments.rules.totals_ingredients import Strengths

ALWAYS = (
    "An entry that a later one takes the place of, and a void, are not counted.",
    "Treatments that only the firm's spreadsheet tells of are not in the log, nor in these totals.",
)


def left_out(
    cells: Sequence[Cell], strengths: Strengths, without_amount: Sequence[int]
) -> tuple[str, ...]:
    """Sentences about cells of all groups, work without a product among them.

    `without_amount`: the numbers of the first records that say no amount.
    """
    return (
        *_no_amount(cells, without_amount),
        *_no_product(cells),
        *_no_place(cells, NO_ZIP, "no readable five-digit ZIP"),
        *_no_place(cells, NO_COUNTY, "no county"),
        *_no_ingredient(cells, strengths),
        *ALWAYS,
    )


def _records(number: int, verb: str, verbs: str) -> str:
    return f"1 record {verb}" if number == 1 else f"{number:,} records {verbs}"


def _no_amount(cells: Iterable[Cell], named: Sequence[int]) -> Iterator[str]:
    number = sum(cell.tally.without_amount for cell in cells if cell.product.name)
    if number:
        said = _records(number, "names a product and says", "name a product and say")
        more = f" and {number - len(named):,} more" if number > len(named) else ""
        which = ", ".join(str(pk) for pk in named)
        yield f"{said} no amount: counted as records, nothing added ({which}{more})."


def _no_product(cells: Iterable[Cell]) -> Iterator[str]:
    number = sum(cell.tally.records for cell in cells if not cell.product.name)
    if number:
        yield f"{_records(number, 'is', 'are')} work without a product: in no row here."


def _no_place(cells: Iterable[Cell], word: str, what: str) -> Iterator[str]:
    number = sum(
        cell.tally.records
        for cell in cells
        if cell.product.name and any(part.startswith(word) for part in cell.group)
    )
    if number:
        said = _records(number, "has", "have")
        yield f"{said} {what}: in the totals under {word}. Correct the property and the record."


def _no_ingredient(cells: Iterable[Cell], strengths: Strengths) -> Iterator[str]:
    tallies: dict[ProductKey, Tally] = {}
    for cell in cells:
        tallies[cell.product] = tallies.get(cell.product, Tally()) + cell.tally
    for product, tally in sorted(tallies.items()):
        if product.name and not strengths.get(product):
            yield f"{product.name} has no active ingredient on file: no mass is given for it."
        elif tally.by_volume and any(
            one.pounds_per_gallon is None for one in strengths.get(product, ())
        ):
            yield f"{product.name} has no pounds per gallon on file: no mass for its liquid."
