"""Totals in SQL against totals row by row, and against the log to the last unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from tests.factories import make_customer, make_property, make_record, make_zone
from tests.treatments.conftest import House
from tests.treatments.test_log import behind_the_guards
from tests.treatments.total_cases import followed_by, many, recorded, scope_of, the_slow_way
from treatments.models import ApplicationRecord
from treatments.rules.totals import Axis, Cell, ProductKey, Tally, grand_total, regrouped
from treatments.rules.totals_log import Reconciled, Scope, ledger_of_cells, reconcile
from treatments.selectors.totals import (
    ledger_of_log,
    strengths_of,
    totals_of,
    without_amount,
)

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
# 1.6 fl oz are 47,317.6473 uL (29.5735295625 mL a fl oz, exact)
HOUSE_UL = 47_318


def _quarter(row: ApplicationRecord) -> str:
    return f"Q{1 + (row.applied_on.month - 1) // 3} {row.applied_on.year}"


def _places(row: ApplicationRecord) -> str:
    places = {area.place for area in row.treated_areas.all()}
    both = "Foundation wall and soil band together"
    return both if len(places) == 2 else "Foundation wall"


WORDS: dict[Axis, Callable[[ApplicationRecord], str]] = {
    Axis.MONTH: lambda row: f"{row.applied_on:%b %Y}",
    Axis.QUARTER: _quarter,
    Axis.YEAR: lambda row: str(row.applied_on.year),
    Axis.BRANCH: lambda row: row.branch.name,
    Axis.COUNTY: lambda row: f"{row.county or 'No county'}, {row.state}",
    Axis.ZIP: lambda row: row.zip_code[:5],
    Axis.PLACE: _places,
    Axis.APPLICATOR: lambda row: row.applicator.full_name,
}


@pytest.fixture
def firm(make_house: Callable[..., House], branch_penn: Branch, other_technician: Person) -> Scope:
    """Two branches with 72 records, 54 of them in 2026."""
    here = make_house()
    customer = make_customer(branch_penn)
    place = make_property(customer, state="PA")
    there = replace(here, place=place, band=make_zone(place, "Wall"))
    many(here, other_technician, there)
    branches = frozenset({here.place.branch_id, branch_penn.pk})
    return Scope(branches, date(2026, 1, 1), date(2026, 12, 31))


def _by_word(cells: tuple[Cell, ...]) -> dict[tuple[str, str], Tally]:
    again = regrouped(cells, lambda cell: cell.group)
    return {(cell.group[0], cell.product.name): cell.tally for cell in again}


@pytest.mark.parametrize("axis", list(Axis))
def test_each_axis_is_what_adding_row_by_row_gives(firm: Scope, axis: Axis) -> None:
    expected = the_slow_way(firm, WORDS[axis])
    with CaptureQueriesContext(connection) as seen:
        cells = totals_of(firm, [axis]).cells
    assert _by_word(cells) == expected
    assert len(seen) == 1


def test_the_whole_by_hand_and_the_same_by_any_two_axes(firm: Scope) -> None:
    # 3 days in 2026, 2 houses, 3 counties: 18 records of each of the 3 kinds of amount
    whole = Tally(54, 18, 18, 18 * 47_318, 18 * 28_350)
    assert grand_total(totals_of(firm, []).cells) == whole
    for first in Axis:
        for second in (Axis.MONTH, Axis.PLACE, Axis.APPLICATOR):
            axes = [first] if first is second else [first, second]
            assert grand_total(totals_of(firm, axes).cells) == whole


@pytest.mark.parametrize(
    ("narrowed", "records"),
    [
        ({"state": "PA"}, 27),
        ({"county": "Delaware"}, 18),
        ({"zip_code": "43015"}, 36),
        ({"product": "Demonstration A SC"}, 54),
        ({"product": "Something else"}, 0),
        ({"until": date(2026, 1, 31)}, 18),
    ],
)
def test_a_narrowed_total(firm: Scope, narrowed: dict[str, object], records: int) -> None:
    scope = replace(firm, **narrowed)  # type: ignore[arg-type]
    assert grand_total(totals_of(scope, []).cells).records == records


def test_one_person_and_one_branch(firm: Scope, other_technician: Person) -> None:
    scope = replace(firm, applicator_id=other_technician.pk)
    assert grand_total(totals_of(scope, []).cells).records == 27
    scope = replace(firm, branches=frozenset())
    assert totals_of(scope, []).cells == totals_of(scope, [Axis.PLACE]).cells == ()


def test_two_people_of_one_name_stay_two(firm: Scope, house: House) -> None:
    Person = type(house.technician)
    Person.objects.update(full_name="Terry Technician")
    words = {cell.group[0] for cell in totals_of(firm, [Axis.APPLICATOR]).cells}
    assert len(words) == 2 and all(word.startswith("Terry Technician (") for word in words)


def test_records_without_an_amount_are_named(firm: Scope) -> None:
    assert grand_total(totals_of(firm, []).cells).without_amount == 18
    named = without_amount(firm, 5)
    assert len(named) == 5 and named[0].on == date(2026, 1, 31)
    assert {one.product for one in named} == {"Demonstration A SC"}


def test_strengths_are_those_of_the_product(house: House) -> None:
    key = ProductKey("Demonstration A SC", "99999-101")
    (only,) = strengths_of({key, ProductKey("")})[key]
    assert (only.name, str(only.percent_by_weight), str(only.pounds_per_gallon)) == (
        "demothrin",
        "7.90000",
        "0.666667",
    )


def compared(scope: Scope) -> Reconciled:
    return reconcile(ledger_of_cells(totals_of(scope, []).cells), ledger_of_log(scope))


def test_records_and_log_agree_to_the_last_unit(house: House) -> None:
    for days in (330, 60, 20, 0):
        recorded(house, days)
    recorded(house, 10, product_amount=None, finished_amount=None)
    answer = compared(scope_of(house))
    # 330 days before Nov 25, 2026 is Dec 30, 2025
    assert answer.is_whole
    assert answer.log == Tally(4, 3, 0, 3 * HOUSE_UL, 0)


def test_a_correction_and_a_void_count_as_they_say(house: House, manager: Person) -> None:
    one, two = recorded(house, 20), recorded(house, 10)
    followed_by(one, "correction", manager, product_ul=40_000)
    followed_by(two, "void", manager)
    answer = compared(scope_of(house))
    assert answer.is_whole and answer.log == Tally(1, 1, 0, 40_000, 0)


@pytest.mark.parametrize(
    ("statement", "table"),
    [
        ("SET product_ul = product_ul + 1", Tally(2, 2, 0, 2 * HOUSE_UL + 1, 0)),
        ("SET applied_on = '2025-11-15'", Tally(1, 1, 0, HOUSE_UL, 0)),
        ("SET product_ul = NULL", Tally(2, 1, 0, HOUSE_UL, 0)),
        ("SET product_name = 'Demonstration Z'", Tally(2, 2, 0, 2 * HOUSE_UL, 0)),
    ],
)
def test_a_record_changed_behind_the_guards_is_a_difference(
    house: House, statement: str, table: Tally
) -> None:
    recorded(house, 20)
    changed = recorded(house, 10)
    behind_the_guards(f"UPDATE treatments_applicationrecord {statement} WHERE id = {changed.pk}")
    answer = compared(scope_of(house))
    assert not answer.is_whole
    assert answer.records == table
    assert answer.log == Tally(2, 2, 0, 2 * HOUSE_UL, 0)


def test_a_record_slipped_in_without_a_leaf_is_a_difference(house: House) -> None:
    recorded(house, 10)
    make_record(house.band, house.technician, house.use, applied_on=date(2026, 5, 1))
    answer = compared(scope_of(house))
    assert (answer.records.records, answer.log.records) == (2, 1)
