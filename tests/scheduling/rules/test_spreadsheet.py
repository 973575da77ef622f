"""The firm's spreadsheet: what is taken, and each bad file with line, column and reason."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.rules.spreadsheet import NAMES, AccountsSheet, read_accounts
from sites.rules.places import Exposure, Place, Surface

TODAY = date(2026, 11, 25)
GOOD = {
    "customer_name": "Orchard House",
    "customer_kind": "residential",
    "contact_name": "Pat Doe",
    "phone": "(717) 555-0142",
    "email": "pat@example.org",
    "billing_address": "",
    "service_street": "12 Main Street",
    "service_city": "Lititz",
    "service_county": "Lancaster",
    "service_state": "PA",
    "service_zip": "17543",
    "latitude": "40.157000",
    "longitude": "-76.30",
    "zone_name": "Foundation wall",
    "zone_place": "foundation_wall",
    "wall_run_ft": "200.50",
    "height_up_ft": "3",
    "width_out_ft": "5",
    "surface": "porous_masonry",
    "exposure": "sun",
    "last_product": "Demonstration A SC",
    "last_residual_days": "90",
    "last_applied_on": "2026-05-12",
    "last_applicator": "Ann Smith",
}


def sheet(*rows: dict[str, str], header: tuple[str, ...] = NAMES) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(header)
    writer.writerows([row.get(name, "") for name in header] for row in rows)
    return out.getvalue().encode()


def read(raw: bytes) -> AccountsSheet:
    return read_accounts(raw, today=TODAY)


def told(raw: bytes) -> list[tuple[int, str, str]]:
    found = read(raw)
    return [(one.line, one.column, one.reason) for one in found.problems]


def test_a_good_row_is_taken_exactly_as_written() -> None:
    found = read(b"\xef\xbb\xbf" + sheet(GOOD))
    assert found.problems == ()
    row = found.rows[0]
    assert (row.line, row.customer_name, row.phone) == (2, "Orchard House", "+17175550142")
    assert (str(row.wall_run_ft), str(row.latitude)) == ("200.50", "40.157000")
    assert row.longitude == Decimal("-76.30")
    assert (row.zone_place, row.surface, row.exposure) == (
        Place.FOUNDATION_WALL,
        Surface.POROUS_MASONRY,
        Exposure.SUN,
    )
    assert (row.last_residual_days, row.last_applied_on) == (90, date(2026, 5, 12))


def test_what_may_be_empty_stays_missing() -> None:
    names = ("contact_name", "phone", "email", "billing_address", "service_county", "latitude")
    empty = dict.fromkeys((*names, "longitude", *(n for n in NAMES if n.startswith("last_"))), "")
    found = read(sheet(GOOD | empty))
    assert found.problems == ()
    row = found.rows[0]
    assert (row.phone, row.latitude, row.last_applied_on, row.last_residual_days) == (
        "",
        None,
        None,
        None,
    )


def test_a_treatment_without_a_claim_or_a_product_is_taken_without() -> None:
    found = read(sheet(GOOD | {"last_residual_days": "", "last_product": ""}))
    assert found.problems == ()
    assert (found.rows[0].last_residual_days, found.rows[0].last_applied_on) == (
        None,
        date(2026, 5, 12),
    )


@pytest.mark.parametrize(
    ("column", "cell", "reason"),
    [
        ("service_zip", "", "is empty"),
        ("service_zip", "1754", "leading zero"),
        ("service_zip", "ABCDE", "not a ZIP code"),
        ("wall_run_ft", "-40", "is negative (-40)"),
        ("wall_run_ft", "0", "is 0"),
        ("wall_run_ft", "abc", "not a number"),
        ("wall_run_ft", "1,200", "not a number"),
        ("wall_run_ft", "1e3", "not a number"),
        ("wall_run_ft", "NaN", "not a number"),
        ("wall_run_ft", "100000.1", "more than 100000 ft"),
        ("height_up_ft", "٣", "not a number"),
        ("width_out_ft", "-1", "is negative"),
        ("last_applied_on", "2026-02-31", "not a day of the calendar"),
        ("last_applied_on", "5/12/2026", "not a date"),
        ("last_applied_on", "2026-11-26", "is after today, 2026-11-25"),
        ("last_applied_on", "1026-05-12", "Correct the year"),
        ("last_residual_days", "ninety", "not a whole number of days"),
        ("last_residual_days", "0", "Write 1 to 3650"),
        ("zone_place", "roof", "Write one of: foundation_wall, soil_band, vegetation"),
        ("surface", "brick", "porous_masonry, painted, bare_wood"),
        ("exposure", "SUN", "Write one of: sheltered, shaded, sun."),
        ("customer_kind", "farm", "Write one of: residential, commercial."),
        ("customer_name", "=cmd()", "a spreadsheet runs as a formula"),
        ("customer_name", "  =cmd()", "a spreadsheet runs as a formula"),
        ("zone_name", "@SUM(A1)", "formula"),
        ("last_product", "+A SC", "formula"),
        ("contact_name", "-Pat", "formula"),
        ("contact_name", "\tPat", "a tab"),
        ("contact_name", "Pat\x07Doe", "character 0x07"),
        ("contact_name", "Pat\nDoe", "a line break"),
        ("zone_name", "z" * 81, "has 81 characters, 80 fit"),
        ("latitude", "91", "outside -90 to 90"),
        ("longitude", "-181", "outside -180 to 180"),
        ("longitude", "", "is empty while latitude is given"),
        ("latitude", "", "is empty while longitude is given"),
        ("email", "pat at example.org", "not an e-mail address"),
        ("phone", "12", "not a telephone number"),
        ("phone", "call Pat", "not a telephone number"),
        ("phone", "717-555-0142 x12", "has an extension"),
        ("service_state", "Penn", "two letters"),
    ],
)
def test_a_bad_cell_is_named(column: str, cell: str, reason: str) -> None:
    found = told(sheet(GOOD, GOOD | {"zone_name": "Other", column: cell}))
    assert [(line, name) for line, name, _ in found] == [(3, column)]
    assert reason in found[0][2]


def test_a_treatment_of_today_is_taken() -> None:
    assert read(sheet(GOOD | {"last_applied_on": str(TODAY)})).rows[0].last_applied_on == TODAY


def test_facts_of_a_treatment_without_its_day_are_named() -> None:
    found = told(sheet(GOOD | {"last_applied_on": ""}))
    assert [name for _, name, _ in found] == [
        "last_product",
        "last_residual_days",
        "last_applicator",
    ]


@pytest.mark.parametrize("cell", ["+1 717 555 0142", "7175550142", "717.555.0142"])
def test_a_telephone_number_may_begin_with_a_plus(cell: str) -> None:
    assert read(sheet(GOOD | {"phone": cell})).rows[0].phone == "+17175550142"


def test_a_wrong_header_names_each_column() -> None:
    header = ("customer", *NAMES[1:], NAMES[3])
    found = told(sheet(GOOD, header=header))
    assert [(name, reason.split(".")[0]) for _, name, reason in found] == [
        ("customer_name", "this column is missing"),
        ("customer", "this column is not known"),
        ("phone", "this column is there twice"),
    ]


def test_columns_may_stand_in_any_order() -> None:
    assert read(sheet(GOOD, header=NAMES[::-1])).rows == read(sheet(GOOD)).rows


def test_files_that_hold_nothing_say_so() -> None:
    assert told(b"") == [(1, "", "the file is empty.")]
    assert told(b"\xef\xbb\xbf \n") == [(1, "", "the file is empty.")]
    assert told(sheet()) == [(1, "", "the file has a header and no rows.")]
    blank = sheet() + b"\n,,,\n"
    assert told(blank) == [(1, "", "the file has a header and no rows.")]


def test_latin_1_bytes_are_named_by_line() -> None:
    raw = sheet(GOOD) + sheet(GOOD | {"customer_name": "Café"}).decode().encode("latin-1")
    found = told(raw)
    assert found == [(4, "", "byte 0xe9 is not UTF-8. Save the file as CSV UTF-8.")]


def test_semicolons_broken_quotes_and_ragged_rows_are_named() -> None:
    assert "not separated by commas" in told(sheet(GOOD).replace(b",", b";"))[0][2]
    assert "quotation marks" in told(sheet(GOOD) + b'"Orchard')[0][2]
    assert told(sheet(GOOD) + b"a,b\n") == [
        (3, "", "the row has 2 cells, the header 24. Check the commas.")
    ]


def test_an_endless_cell_is_named() -> None:
    assert told(sheet(GOOD | {"zone_name": "z" * 200_000}))[0][0] == 2


def test_one_property_is_one_spelling_or_another() -> None:
    other = {"service_street": "12 main st.", "customer_name": "ORCHARD house", "zone_name": "B"}
    first, second = read(sheet(GOOD, GOOD | other)).rows
    assert first.property_key == second.property_key


def test_a_zone_named_twice_is_a_problem() -> None:
    found = told(sheet(GOOD, GOOD | {"zone_name": "FOUNDATION WALL"}))
    assert found == [(3, "zone_name", "this property has this zone on line 2 already.")]


def test_rows_of_a_property_may_be_silent_but_not_contradict() -> None:
    silent = GOOD | {"zone_name": "B", "phone": "", "latitude": "", "longitude": ""}
    rows = read(sheet(silent, GOOD)).rows
    assert [row.phone for row in rows] == ["+17175550142"] * 2
    assert rows[0].latitude == rows[1].latitude == Decimal("40.157")
    found = told(sheet(GOOD, GOOD | {"zone_name": "B", "phone": "717-555-0199"}))
    assert found == [(3, "phone", "differs from line 2 of the same property.")]


def test_the_line_is_where_the_row_begins() -> None:
    broken = GOOD | {"contact_name": "Pat\nDoe"}
    found = told(sheet(broken, GOOD | {"service_zip": ""}))
    assert [(line, name) for line, name, _ in found] == [(2, "contact_name"), (4, "service_zip")]


def test_thousands_of_rows_are_read() -> None:
    rows = [
        GOOD
        | {
            "customer_name": f"Customer {spot}",
            "service_street": f"{spot} Main Street",
            "phone": f"+1 717 55{spot // 10_000} {spot % 10_000:04d}",
            "last_applied_on": str(TODAY - timedelta(days=spot % 300)),
        }
        for spot in range(5_000)
    ]
    raw = sheet(*rows)
    found = read(raw)
    assert len(found.rows) == 5_000 and found.problems == ()


def test_more_rows_than_the_limit_are_refused() -> None:
    raw = sheet(GOOD) + b"x,y\n" * 100_000
    assert told(raw)[-1] == (100_002, "", "more than 100000 rows. Split the file.")


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(raw: bytes) -> None:
    assert read(raw).problems


@given(st.sampled_from(NAMES), st.text(max_size=60))
def test_no_text_in_a_cell_breaks_the_reader(column: str, cell: str) -> None:
    try:
        raw = sheet(GOOD | {column: cell})
    except UnicodeEncodeError:
        return
    found = read(raw)
    assert len(found.rows) + bool(found.problems) == 1
