"""What a spreadsheet program gets to open."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.rules.csv_out import FORMULA_STARTS, write_csv


@pytest.mark.parametrize("start", FORMULA_STARTS)
def test_formulas_are_defused(start: str) -> None:
    text = write_csv(["name"], [[f"{start}cmd()"]])
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows == [["name"], [f"'{start}cmd()"]]


def test_numbers_days_and_nothing_are_written_as_they_are() -> None:
    text = write_csv(["a", "b", "c", "d"], [[Decimal("-1.50"), date(2026, 5, 12), None, -3]])
    assert text == "a,b,c,d\r\n-1.50,2026-05-12,,-3\r\n"


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="2 cells, the header 1"):
        write_csv(["a"], [["b", "c"]])


@given(st.lists(st.tuples(st.text(), st.text()), max_size=5))
def test_no_text_leaves_as_a_formula_and_none_is_lost(rows: list[tuple[str, str]]) -> None:
    text = write_csv(["a", "b"], rows)
    back = list(csv.reader(io.StringIO(text, newline="")))[1:]
    for row, read in zip(rows, back, strict=True):
        for cell, again in zip(row, read, strict=True):
            assert not again.startswith(FORMULA_STARTS)
            assert again in (cell, f"'{cell}")
