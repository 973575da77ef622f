"""Totals of what was used: whole canonical units, every record in exactly one cell.

Volumes and masses stand in two columns and are never added: a product has no density here.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from accounts.rules.day_words import MONTHS
from sites.rules.places import PLACE_WORDS, Place

ZIP = re.compile(r"([0-9]{5})(-?[0-9]{4})?")
NO_ZIP, NO_COUNTY, NO_PLACE = "No ZIP", "No county", "No place"
PLACES = tuple(Place)


class Axis(StrEnum):
    """What totals can be told apart by, besides the product."""

    MONTH = "month"
    QUARTER = "quarter"
    YEAR = "year"
    BRANCH = "branch"
    COUNTY = "county"
    ZIP = "zip"
    PLACE = "place"
    APPLICATOR = "applicator"


PERIODS = (Axis.MONTH, Axis.QUARTER, Axis.YEAR)
AXIS_WORDS: dict[Axis, str] = {
    Axis.MONTH: "Month",
    Axis.QUARTER: "Quarter",
    Axis.YEAR: "Year",
    Axis.BRANCH: "Branch",
    Axis.COUNTY: "County",
    Axis.ZIP: "ZIP",
    Axis.PLACE: "Place",
    Axis.APPLICATOR: "Applicator",
}


@dataclass(frozen=True)
class Tally:
    """How many records, how many of them by volume and by mass, and the whole uL and mg."""

    records: int = 0
    by_volume: int = 0
    by_mass: int = 0
    ul: int = 0
    mg: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.records + other.records,
            self.by_volume + other.by_volume,
            self.by_mass + other.by_mass,
            self.ul + other.ul,
            self.mg + other.mg,
        )

    @property
    def without_amount(self) -> int:
        """Records that say no amount of product: counted, never taken as zero."""
        return self.records - self.by_volume - self.by_mass


@dataclass(frozen=True, order=True)
class ProductKey:
    """A product as its records name it; both empty for work without a product."""

    name: str
    registration_number: str = ""


NO_PRODUCT = ProductKey("")


@dataclass(frozen=True)
class Cell:
    """The tally of one product in one group of one branch.

    `group` has one word for each axis, in its order.
    """

    group: tuple[str, ...]
    product: ProductKey
    tally: Tally
    branch_id: int = 0


def grand_total(cells: Iterable[Cell]) -> Tally:
    """The sum of every cell."""
    return sum((cell.tally for cell in cells), Tally())


def regrouped(
    cells: Iterable[Cell], group: Callable[[Cell], tuple[str, ...]], *, by_product: bool = True
) -> list[Cell]:
    """The same cells of all branches added up into other groups, in the order they appear."""
    sums: defaultdict[tuple[tuple[str, ...], ProductKey], Tally] = defaultdict(Tally)
    for cell in cells:
        sums[group(cell), cell.product if by_product else NO_PRODUCT] += cell.tally
    return [Cell(where, product, tally) for (where, product), tally in sums.items()]


def period_key(axis: Axis, day: date) -> tuple[int, int]:
    """What orders periods: year, then month or quarter (0 for a whole year)."""
    part = {Axis.MONTH: day.month, Axis.QUARTER: (day.month + 2) // 3, Axis.YEAR: 0}
    return day.year, part[axis]


def period_word(axis: Axis, day: date) -> str:
    """Nov 2026, Q4 2026 or 2026."""
    year, part = period_key(axis, day)
    if axis is Axis.MONTH:
        return f"{MONTHS[part - 1]} {year}"
    return f"Q{part} {year}" if axis is Axis.QUARTER else str(year)


def zip5(text: str) -> str:
    """The five digits of a ZIP or ZIP+4; empty when it is neither.

    New York asks for the five digits (6 NYCRR 325.25, read).
    """
    found = ZIP.fullmatch(text.strip())
    return found[1] if found else ""


def county_word(county: str, state: str) -> str:
    """Franklin, OH: the same county name stands in many states."""
    return f"{county.strip() or NO_COUNTY}, {state}" if state else county.strip() or NO_COUNTY


def place_bit(place: str) -> int:
    """The bit of a place in the number that stands for all places of a record."""
    return 1 << PLACES.index(Place(place))


def places_word(bits: int) -> str:
    """Every place of a record in one word, so that its amount is told once and not split."""
    words = [PLACE_WORDS[place] for place in PLACES if bits & place_bit(place)]
    if len(words) < 2:
        return words[0] if words else NO_PLACE
    return f"{', '.join(words[:-1])} and {words[-1]} together".capitalize()


def ordered(
    cells: Iterable[Cell], periods: Mapping[str, tuple[int, int]] | None = None
) -> Sequence[Cell]:
    """Cells by group, periods in the order of the calendar, then by product."""
    known = periods or {}

    def key(cell: Cell) -> tuple[object, ...]:
        return tuple((known.get(word, (0, 0)), word) for word in cell.group), cell.product

    return sorted(cells, key=key)
