"""Totals from leaves: what counts by the log alone, and every way to differ."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.totals import Cell, ProductKey, Tally
from treatments.rules.totals_log import (
    Difference,
    LedgerKey,
    Scope,
    ledger_of_cells,
    ledger_of_leaves,
    reconcile,
    tally_words,
)

YEAR = Scope(frozenset({1, 2}), date(2026, 1, 1), date(2026, 12, 31))
A = ProductKey("Demonstration A SC", "99999-101")


def leaf(pk: int | None, entry: str = "record", **said: Any) -> bytes:
    record = {
        "entry": entry,
        "corrects_id": None,
        "branch_id": 1,
        "applied_on": "2026-06-30",
        "product_name": A.name,
        "registration_number": A.registration_number,
        "product_ul": 47_318,
        "product_mg": None,
        "county": "Franklin",
        "state": "OH",
        "zip_code": "43085-1234",
        "applicator_id": 7,
    } | said
    return json.dumps({"record_id": pk, "payload": {"record": record}}).encode()


def test_records_are_added_up_by_branch_and_product() -> None:
    leaves = [
        leaf(1),
        leaf(2, product_ul=2),
        leaf(3, branch_id=2),
        leaf(4, product_name="D", registration_number="", product_ul=None, product_mg=5),
        leaf(5, product_ul=None),
    ]
    assert ledger_of_leaves(leaves, YEAR) == {
        LedgerKey(1, A): Tally(3, 2, 0, 47_320, 0),
        LedgerKey(2, A): Tally(1, 1, 0, 47_318, 0),
        LedgerKey(1, ProductKey("D")): Tally(1, 0, 1, 0, 5),
    }


@pytest.mark.parametrize("kind", ["correction", "addendum"])
def test_an_entry_that_another_follows_does_not_count(kind: str) -> None:
    leaves = [leaf(1), leaf(2, kind, corrects_id=1, product_ul=1), leaf(3, corrects_id=None)]
    assert ledger_of_leaves(leaves, YEAR) == {LedgerKey(1, A): Tally(2, 2, 0, 47_319, 0)}


def test_a_void_counts_nowhere_nor_what_it_follows() -> None:
    assert ledger_of_leaves([leaf(1), leaf(2, "void", corrects_id=1)], YEAR) == {}


def test_a_correction_that_leaves_the_period_takes_the_record_with_it() -> None:
    moved = leaf(2, "correction", corrects_id=1, applied_on="2025-12-31")
    assert ledger_of_leaves([leaf(1), moved], YEAR) == {}
    before = replace(YEAR, since=date(2025, 1, 1), until=date(2025, 12, 31))
    assert ledger_of_leaves([leaf(1), moved], before)[LedgerKey(1, A)].records == 1


@pytest.mark.parametrize(
    ("change", "is_inside"),
    [
        ({"since": date(2026, 6, 30)}, True),
        ({"since": date(2026, 7, 1)}, False),
        ({"until": date(2026, 6, 30)}, True),
        ({"until": date(2026, 6, 29)}, False),
        ({"branches": frozenset({2})}, False),
        ({"state": "OH", "county": "Franklin"}, True),
        ({"state": "PA"}, False),
        ({"county": "Erie"}, False),
        ({"zip_code": "43085"}, True),
        ({"zip_code": "43017"}, False),
        ({"product": A.name, "applicator_id": 7}, True),
        ({"product": "D"}, False),
        ({"applicator_id": 8}, False),
    ],
)
def test_a_scope_by_the_columns_of_the_leaf(change: dict[str, Any], is_inside: bool) -> None:
    assert bool(ledger_of_leaves([leaf(1)], replace(YEAR, **change))) == is_inside


def test_other_leaves_are_passed_over() -> None:
    load = json.dumps({"record_id": None, "payload": {"load": {"product_ul": 5}}}).encode()
    begun = json.dumps({"record_id": None, "payload": None}).encode()
    assert ledger_of_leaves([load, begun, leaf(None)], YEAR) == {}


def test_the_same_sums_are_whole() -> None:
    cells = [Cell(("Nov",), A, Tally(1, 1, 0, 47_318, 0), 1)]
    answer = reconcile(ledger_of_cells(cells), ledger_of_leaves([leaf(1)], YEAR))
    assert answer.is_whole and answer.records == answer.log == Tally(1, 1, 0, 47_318, 0)


def test_errors_that_cancel_each_other_are_still_found() -> None:
    one, other = LedgerKey(1, A), LedgerKey(1, ProductKey("E"))
    records = {one: Tally(1, 1, 0, 100, 0), other: Tally(1, 1, 0, 200, 0)}
    log = {one: Tally(1, 1, 0, 101, 0), other: Tally(1, 1, 0, 199, 0)}
    answer = reconcile(records, log)
    assert answer.records == answer.log
    assert answer.differences == (
        Difference(one, records[one], log[one]),
        Difference(other, records[other], log[other]),
    )


@given(st.integers(1, 10**12), st.sampled_from(["product_ul", "product_mg"]))
def test_one_unit_is_a_difference(amount: int, column: str) -> None:
    here = {"product_ul": None, "product_mg": None}
    records = ledger_of_leaves([leaf(1, **here | {column: amount})], YEAR)
    log = ledger_of_leaves([leaf(1, **here | {column: amount + 1})], YEAR)
    assert len(reconcile(records, log).differences) == 1


def test_a_tally_in_words() -> None:
    assert tally_words(Tally(1, 1, 0, 141_953, 0)) == "1 record, 141,953 µL, 0 mg"
    assert tally_words(Tally(2, 0, 2, 0, 5)) == "2 records, 0 µL, 5 mg"
