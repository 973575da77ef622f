"""The firm's own spreadsheet, one row a zone, read as a whole with every problem named.

Columns and words: README.md. Nothing is stored and nothing is guessed here.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from scheduling.rules import spreadsheet_cells as cells
from scheduling.rules.spreadsheet_cells import CellError, CustomerKind, Reader
from sites.rules.addresses import address_key
from sites.rules.places import Exposure, Place, Surface

MOST_ROWS = 100_000
MOST_BYTES = 100 * 1024 * 1024


@dataclass(frozen=True)
class Column:
    """One column: how a cell is read, how long it may be, whether it may be empty."""

    name: str
    read: Reader
    length: int
    may_be_empty: bool = False


COLUMNS = (
    Column("customer_name", cells.plain, 160),
    Column("customer_kind", cells.customer_kind, 20),
    Column("contact_name", cells.plain, 120, True),
    Column("phone", cells.phone, 40, True),
    Column("email", cells.email, 254, True),
    Column("billing_address", cells.plain, 400, True),
    Column("service_street", cells.plain, 200),
    Column("service_city", cells.plain, 100),
    Column("service_county", cells.plain, 100, True),
    Column("service_state", cells.state, 20),
    Column("service_zip", cells.zip_code, 10),
    Column("latitude", cells.latitude, 20, True),
    Column("longitude", cells.longitude, 20, True),
    Column("zone_name", cells.plain, 80),
    Column("zone_place", cells.place, 40),
    Column("wall_run_ft", cells.run_feet, 20),
    Column("height_up_ft", cells.feet_of, 20),
    Column("width_out_ft", cells.feet_of, 20),
    Column("surface", cells.surface, 40),
    Column("exposure", cells.exposure, 40),
    Column("last_product", cells.plain, 160, True),
    Column("last_residual_days", cells.days, 10, True),
    Column("last_applied_on", cells.past_day, 10, True),
    Column("last_applicator", cells.plain, 120, True),
)
NAMES = tuple(column.name for column in COLUMNS)
# Facts of the property, not of the zone: rows of one property must not contradict each other; what
# one row leaves empty another may say.
SHARED = (
    "customer_kind",
    "contact_name",
    "phone",
    "email",
    "billing_address",
    "service_county",
    "latitude",
    "longitude",
)


@dataclass(frozen=True)
class Problem:
    """Something in the file that must be corrected; line 1 is the header."""

    line: int
    column: str
    reason: str

    def __str__(self) -> str:
        where = f"line {self.line}, {self.column}" if self.column else f"line {self.line}"
        return f"{where}: {self.reason}"


@dataclass(frozen=True)
class AccountRow:
    """One zone of one property; empty text and None are what the file left empty."""

    line: int
    customer_name: str
    customer_kind: CustomerKind
    contact_name: str
    phone: str
    email: str
    billing_address: str
    service_street: str
    service_city: str
    service_county: str
    service_state: str
    service_zip: str
    latitude: Decimal | None
    longitude: Decimal | None
    zone_name: str
    zone_place: Place
    wall_run_ft: Decimal
    height_up_ft: Decimal
    width_out_ft: Decimal
    surface: Surface
    exposure: Exposure
    last_product: str
    last_residual_days: int | None
    last_applied_on: date | None
    last_applicator: str
    customer_key: str
    address_key: str

    @property
    def property_key(self) -> tuple[str, str]:
        """The same for every row of one property: customer and service address."""
        return self.customer_key, self.address_key


@dataclass(frozen=True)
class AccountsSheet:
    """The rows that can be taken, and every problem by line; take none when there is one."""

    rows: tuple[AccountRow, ...]
    problems: tuple[Problem, ...]


EMPTY = ("", None)
NONE_WHEN_EMPTY = {"latitude", "longitude", "last_residual_days", "last_applied_on"}


def read_accounts(raw: bytes, *, today: date) -> AccountsSheet:
    """Read the whole file; a bad row is left out of `rows` and named in `problems`.

    `raw` is UTF-8 CSV with the columns of `NAMES` in any order; a byte order mark is allowed.
    Days after `today` are refused.
    """
    text = _text(raw)
    if isinstance(text, Problem):
        return AccountsSheet((), (text,))
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        return _sheet(reader, today)
    except csv.Error as broken:
        reason = f"the row cannot be read ({broken}). Check the quotation marks."
        return AccountsSheet((), (Problem(max(1, reader.line_num), "", reason),))


def _text(raw: bytes) -> str | Problem:
    if len(raw) > MOST_BYTES:
        return Problem(1, "", f"the file is larger than {MOST_BYTES >> 20} MB. Split it.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = raw[: wrong.start].count(b"\n") + 1
        reason = f"byte {raw[wrong.start]:#04x} is not UTF-8. Save the file as CSV UTF-8."
        return Problem(line, "", reason)
    if "\x00" in text.split("\n", 1)[0]:
        return Problem(1, "", "the header holds zero bytes. Save the file as CSV UTF-8.")
    return text if text.strip() else Problem(1, "", "the file is empty.")


def _sheet(reader: Iterator[list[str]], today: date) -> AccountsSheet:
    header = [name.strip() for name in next(reader)]
    problems = list(_header_problems(header))
    if problems:
        return AccountsSheet((), tuple(problems))
    places = [(column, header.index(column.name)) for column in COLUMNS]
    rows: list[AccountRow] = []
    count = 0
    for line, row in _numbered(reader):
        count += 1
        if count > MOST_ROWS:
            problems.append(Problem(line, "", f"more than {MOST_ROWS} rows. Split the file."))
            break
        _take(line, row, places, today, rows, problems)
    if not count:
        problems.append(Problem(1, "", "the file has a header and no rows."))
    problems += _across(rows)
    bad = {problem.line for problem in problems}
    kept = [row for row in rows if row.line not in bad]
    filled = tuple(_filled(kept, _told(kept)))
    return AccountsSheet(filled, tuple(sorted(problems, key=lambda one: one.line)))


def _header_problems(header: list[str]) -> Iterator[Problem]:
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        yield Problem(1, "", "the columns are not separated by commas. Save the file as CSV UTF-8.")
        return
    for name in NAMES:
        if name not in header:
            yield Problem(1, name, "this column is missing.")
    for name in dict.fromkeys(header):
        if name not in NAMES:
            shown = cells.CONTROL.sub("?", name[:40]) or "(no name)"
            yield Problem(1, shown, "this column is not known. Remove it.")
        elif header.count(name) > 1:
            yield Problem(1, name, "this column is there twice.")


def _numbered(reader: Iterator[list[str]]) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line each begins on; wholly empty lines are passed over."""
    begins = _line_num(reader) + 1
    for row in reader:
        if any(cell.strip() for cell in row):
            yield begins, row
        begins = _line_num(reader) + 1


def _line_num(reader: Iterator[list[str]]) -> int:
    return int(getattr(reader, "line_num", 0))


def _take(
    line: int,
    row: list[str],
    places: list[tuple[Column, int]],
    today: date,
    rows: list[AccountRow],
    problems: list[Problem],
) -> None:
    if len(row) != len(places):
        reason = f"the row has {len(row)} cells, the header {len(places)}. Check the commas."
        problems.append(Problem(line, "", reason))
        return
    facts: dict[str, object] = {}
    found: list[Problem] = []
    for column, place in places:
        try:
            facts[column.name] = _cell(column, row[place], today)
        except CellError as wrong:
            found.append(Problem(line, column.name, str(wrong)))
    found += _together(line, facts)
    problems += found
    if not found:
        rows.append(_row(line, facts))


def _cell(column: Column, cell: str, today: date) -> object:
    if cell.startswith(("\t", "\r")) and column.read is cells.plain:
        return cells.plain(cell, today)
    cell = cells.unbroken(cell).strip(" \u00a0")
    if not cell and column.may_be_empty:
        return None if column.name in NONE_WHEN_EMPTY else ""
    if not cell:
        raise CellError("is empty. Fill it in.")
    if len(cell) > column.length:
        raise CellError(f"has {len(cell)} characters, {column.length} fit. Shorten it.")
    return column.read(cell, today)


def _together(line: int, facts: dict[str, object]) -> Iterator[Problem]:
    """Facts that make sense only with another one; a cell already refused is not asked again."""
    for one, other in (("latitude", "longitude"), ("longitude", "latitude")):
        if facts.get(one) is not None and facts.get(other, "refused") is None:
            yield Problem(line, other, f"is empty while {one} is given. Give both or neither.")
    if facts.get("last_applied_on", "refused") is None:
        for name in ("last_product", "last_residual_days", "last_applicator"):
            if facts.get(name):
                yield Problem(
                    line, name, "is given without last_applied_on. Give the day or clear the cell."
                )


def _row(line: int, facts: dict[str, object]) -> AccountRow:
    address = (str(facts[f"service_{part}"]) for part in ("street", "city", "state", "zip"))
    return AccountRow(
        line=line,
        customer_key=" ".join(str(facts["customer_name"]).casefold().split()),
        address_key=address_key(*address),
        **facts,  # type: ignore[arg-type]  # each column's reader returns its field's type
    )


def _across(rows: list[AccountRow]) -> Iterator[Problem]:
    """A zone named twice, and rows of one property that tell different facts about it."""
    zones: dict[tuple[str, str, str], int] = {}
    told = _told(rows)
    for row in rows:
        zone = (*row.property_key, row.zone_name.casefold())
        before = zones.setdefault(zone, row.line)
        if before != row.line:
            reason = f"this property has this zone on line {before} already."
            yield Problem(row.line, "zone_name", reason)
        for name, (fact, line) in told[row.property_key].items():
            if getattr(row, name) not in (*EMPTY, fact):
                reason = f"differs from line {line} of the same property."
                yield Problem(row.line, name, reason)


Told = dict[tuple[str, str], dict[str, tuple[object, int]]]


def _told(rows: list[AccountRow]) -> Told:
    """What each property's rows say about it, and the line that said it first."""
    told: Told = {}
    for row in rows:
        facts = told.setdefault(row.property_key, {})
        for name in SHARED:
            fact = getattr(row, name)
            if fact not in EMPTY:
                facts.setdefault(name, (fact, row.line))
    return told


def _filled(rows: Iterable[AccountRow], told: Told) -> Iterator[AccountRow]:
    """Each row with what another row of its property says where it is empty itself."""
    for row in rows:
        missing: dict[str, Any] = {
            name: fact
            for name, (fact, _) in told[row.property_key].items()
            if getattr(row, name) in EMPTY
        }
        yield replace(row, **missing) if missing else row
