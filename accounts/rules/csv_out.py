"""Tables as CSV that a spreadsheet program opens without running anything in them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def write_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return the table as RFC 4180 text; see `csv_lines` for what is written and refused."""
    return "".join(csv_lines(header, rows))


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """Yield the table as RFC 4180 lines, one row at a time, for a table of any length.

    Text that a spreadsheet would read as a formula gets a leading apostrophe; numbers and dates
    are written as they are, None as an empty cell. A row of another length than the header is
    refused.
    """
    yield _line(header)
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"A row has {len(row)} cells, the header {len(header)}.")
        yield _line(row)


def _line(row: Sequence[object]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([defused(cell) for cell in row])
    return out.getvalue()


def defused(cell: object) -> object:
    """The cell, with an apostrophe before text that would be run as a formula."""
    if isinstance(cell, str) and cell.startswith(FORMULA_STARTS):
        return f"'{cell}"
    return cell
