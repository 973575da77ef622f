"""One report of what was used as plain data: the page, the PDF and the files say the same."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from sites.rules.units import group

Value = str | int | Decimal | None
Row = tuple[Value, ...]


@dataclass(frozen=True)
class Column:
    """A column's title; `is_exact` ones stand in files only, in whole canonical units.

    `is_short`: what stands in it is never broken into two lines.
    """

    title: str
    is_number: bool = False
    is_exact: bool = False
    is_short: bool = False


@dataclass(frozen=True)
class Block:
    """One table; `footer` is its total, one value a column, or empty."""

    title: str
    note: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    footer: Row = ()


@dataclass(frozen=True)
class UsePaper:
    """A report: what it is about, its tables, what is not in them, and what the log says."""

    title: str
    about: tuple[tuple[str, str], ...]
    main: Block
    others: tuple[Block, ...]
    left_out: tuple[str, ...]
    reconciliation: tuple[str, ...]
    is_whole: bool | None
    asked_by: str
    firm: str
    as_of: str
    is_demonstration: bool

    @property
    def blocks(self) -> tuple[Block, ...]:
        return (self.main, *self.others)


def shown(value: Value) -> str:
    """A value for people: thousands apart, nothing for None."""
    if value is None:
        return ""
    return group(Decimal(value)) if isinstance(value, int) else _text(value)


def _text(value: str | Decimal) -> str:
    if isinstance(value, str):
        return value
    places = -int(value.as_tuple().exponent)
    return group(value, places)


def on_paper(block: Block) -> tuple[tuple[Column, ...], list[list[str]], list[str]]:
    """Columns, rows and footer in words, without the exact columns."""
    kept = [place for place, column in enumerate(block.columns) if not column.is_exact]
    rows = [[shown(row[place]) for place in kept] for row in block.rows]
    footer = [shown(block.footer[place]) for place in kept] if block.footer else []
    return tuple(block.columns[place] for place in kept), rows, footer
