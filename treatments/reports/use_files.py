"""A report of what was used as CSV and as a workbook: numbers as numbers, whole uL and mg too."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tablib import Databook, Dataset

from accounts.rules.csv_out import defused, write_csv
from treatments.reports.use_paper import Block, Row, UsePaper

SHEET_NAME = 31  # the longest name of a sheet that spreadsheet programs take
DEMO = "Demonstration: every firm, person, place, product and number here is invented."


def lines_about(paper: UsePaper) -> list[str]:
    """What a reader of the numbers must know, one line each."""
    return [
        paper.title,
        *(f"{name}: {value}" for name, value in paper.about),
        f"Firm: {paper.firm}",
        f"As of: {paper.as_of}",
        *paper.reconciliation,
        *paper.left_out,
        *([DEMO] if paper.is_demonstration else []),
    ]


def csv_of(paper: UsePaper) -> str:
    """The main table, its total, then the lines about it in the first column."""
    block = paper.main
    width = len(block.columns)
    lines = ((line, *(None,) * (width - 1)) for line in ("", *lines_about(paper)))
    header = [column.title for column in block.columns]
    return write_csv(header, [*_rows(block), *lines])


def _rows(block: Block) -> Iterator[Row]:
    yield from block.rows
    if block.footer:
        yield block.footer


def workbook_of(paper: UsePaper) -> bytes:
    """One sheet a table and one about the report; text that looks like a formula is defused."""
    sheets = [_sheet(block) for block in paper.blocks]
    return bytes(Databook([*sheets, _about(paper)]).export("xlsx"))


def _sheet(block: Block) -> Dataset:
    rows = [_defused(row) for row in _rows(block)]
    header = [column.title for column in block.columns]
    return Dataset(*rows, headers=header, title=block.title[:SHEET_NAME])


def _about(paper: UsePaper) -> Dataset:
    lines = [_defused((line,)) for line in lines_about(paper)]
    return Dataset(*lines, headers=["About this report"], title="About")


def _defused(row: Iterable[object]) -> tuple[object, ...]:
    return tuple(defused(cell) for cell in row)
