"""The use log, totals, history and who may see a record."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.http import Http404

from accounts.models import Person
from sites.rules.places import Geometry, Place
from tests.factories import make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord
from treatments.rules.applications import Entered, HistoricRow, TreatedZone
from treatments.selectors.record_page import record_page
from treatments.selectors.records import (
    UseLogFilter,
    applicators_used,
    history_of,
    products_used,
    record_for,
    records_of_visit,
    totals,
    use_log,
    use_rows,
)
from treatments.services.history import record_history
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db
TODAY = NOW.date()


def record(house: House, days_ago: int = 0, **changes: Any) -> ApplicationRecord:
    """One record of the house, some days ago."""
    at = NOW - timedelta(days=days_ago)
    times = {"started_at": at - timedelta(minutes=40), "finished_at": at - timedelta(minutes=16)}
    application = house.application(**(times | changes))
    return record_application(application=application, by=house.technician, now=NOW).record


def test_a_row_of_the_use_log_in_words(house: House) -> None:
    made = record(house, visit_ref="12")
    (row,) = use_rows(use_log(UseLogFilter()))
    assert (row.pk, row.applied_on, row.product) == (made.pk, TODAY, "Demonstration A SC")
    assert (row.registration_number, row.method) == ("99999-101", "Perimeter band")
    assert (row.amount, row.finished, row.area) == ("1.6 fl oz", "1.6 gal", "1,600 sq ft")
    assert row.rate == "1.00 fl oz per 1,000 sq ft"  # 1.6 / 1.6
    assert (row.applicator, row.customer) == ("Terry Technician", "Marta Ellwood")
    assert row.address == "118 Sluice Lane, Worthington, OH 43085"
    assert (row.zones, row.places) == ("Foundation band", "Foundation wall")
    assert row.pests == "Brown marmorated stink bug"
    # history before the property was entered is not known here
    assert (row.worst, row.visit_ref, row.url) == ("note", "12", f"/record/{made.pk}/")


def test_names_stay_as_they_were_said_that_day(house: House) -> None:
    record(house)
    house.technician.full_name = "Terry Married-Name"
    house.technician.save()
    (row,) = use_rows(use_log(UseLogFilter()))
    assert row.applicator == "Terry Technician"


@pytest.mark.parametrize(
    ("wanted", "days"),
    [
        (UseLogFilter(), [0, 10, 40]),
        (UseLogFilter(since=TODAY - timedelta(days=10)), [0, 10]),
        (UseLogFilter(until=TODAY - timedelta(days=10)), [10, 40]),
        (UseLogFilter(product="Demonstration A SC"), [0, 10, 40]),
        (UseLogFilter(product="Another"), []),
        (UseLogFilter(branch_id=99_999_999), []),
        (UseLogFilter(applicator_id=99_999_999), []),
        (UseLogFilter(property_id=99_999_999), []),
        (UseLogFilter(severity="violation"), [10]),
        (UseLogFilter(severity="warn"), [10, 40]),
        (UseLogFilter(severity="nonsense"), [0, 10, 40]),
    ],
)
def test_the_use_log_is_narrowed(house: House, wanted: UseLogFilter, days: list[int]) -> None:
    record(house, 40, protective_equipment_confirmed=False)
    record(house, 10, product_amount=Entered("2", "fl_oz"))
    record(house, 0)
    found = [row.applied_on for row in use_rows(use_log(wanted))]
    assert found == [TODAY - timedelta(days=ago) for ago in days]


def test_totals_are_sums_of_whole_microliters(house: House) -> None:
    record(house, 20)
    record(house, 10, product_amount=Entered("0.8", "fl_oz"), protective_equipment_confirmed=False)
    record(house, 0, label_use_id=None, product_amount=None, finished_amount=None)
    (row,) = totals(UseLogFilter())
    assert (row.product, row.registration_number) == ("Demonstration A SC", "99999-101")
    # 1.6 + 0.8 fl oz on twice 1,600 sq ft; work without a product is not in the totals
    assert (row.applications, row.amount, row.area) == (2, "2.40 fl oz", "3,200 sq ft")
    (row,) = totals(UseLogFilter(severity="warn"))
    assert (row.applications, row.amount) == (1, "0.80 fl oz")


def test_lists_for_the_filter(house: House) -> None:
    record(house)
    record(house, 10)
    assert products_used() == ["Demonstration A SC"]
    assert applicators_used() == [(house.technician.pk, "Terry Technician")]


def test_the_use_log_takes_a_fixed_number_of_queries(
    house: House, django_assert_num_queries: Callable[..., Any]
) -> None:
    for count in (3, 30):
        for number in range(count):
            record(house, number + count)
        with django_assert_num_queries(3):
            use_rows(use_log(UseLogFilter()))
        with django_assert_num_queries(1):
            totals(UseLogFilter())
        # records, their areas, the spreadsheet
        with django_assert_num_queries(3):
            history_of(house.place.pk)


def test_history_has_records_and_spreadsheet(house: House) -> None:
    row = HistoricRow(house.band.pk, "Barrier X", "R. Okafor", TODAY - timedelta(days=100), 90)
    record_history(
        branch_id=house.place.branch_id,
        file_name="a.csv",
        file_sha256="0" * 64,
        rows=[row],
        by=None,
        now=NOW,
    )
    made = record(house)
    first, second = history_of(house.place.pk)
    assert (first.on, first.product, first.pk) == (TODAY, "Demonstration A SC", made.pk)
    assert (first.applicator, first.zones) == ("Terry Technician", "Foundation band")
    assert first.until == date(2027, 2, 23)
    assert (second.product, second.applicator) == ("Barrier X", "R. Okafor")
    # 90 days of 100 are over: ten days ago
    assert second.until == TODAY - timedelta(days=10)
    assert second.pk is None


def test_who_sees_a_record(
    house: House, manager: Person, office: Person, other_technician: Person, stranger: Person
) -> None:
    made = record(house)
    assert record_for(manager, made.pk) == made
    assert record_for(house.technician, made.pk) == made
    assert record_for(other_technician, made.pk, property_ids={house.place.pk}) == made
    assert record_for(office, made.pk) == made
    for person in (other_technician, stranger):
        with pytest.raises(Http404):
            record_for(person, made.pk)
    with pytest.raises(Http404):
        record_for(manager, made.pk + 1)


def test_records_of_a_visit(house: House) -> None:
    first, second = record(house, visit_ref="7"), record(house, visit_ref="7")
    record(house)
    assert records_of_visit("7") == [first, second]
    assert records_of_visit("") == []


def test_the_record_page_in_words(house: House, manager: Person) -> None:
    made = record(house, notes="Hose bib leaks.")
    page = record_page(manager, made.pk)
    facts = dict(page.facts)
    assert facts["Time"] == "2:20 PM to 2:44 PM"
    assert facts["Zones"] == "Foundation band, 1,600 sq ft"
    assert facts["Product"] == "Demonstration A SC, label of Jan 1, 2026"
    assert facts["Notes"] == "Hose bib leaks."
    assert dict(page.who)["Kept until"] == "Nov 25, 2033"
    assert page.verdict == "inside every limit of the label"
    assert page.windows == (
        (
            "Foundation band, overwintering insects",
            date(2026, 12, 2),
            date(2027, 2, 23),
            "label up to 90 days: 90 days",
        ),
    )
    assert page.leaf is not None
    assert (page.leaf.seq, page.leaf.size) == (0, 1)


def test_an_area_that_is_not_counted_has_no_rate(house: House) -> None:
    spots = make_zone(
        house.place, "Entry points", "3", "0", "0", geometry=Geometry.COUNT, place=Place.ENTRY_POINT
    )
    record(house, zones=(TreatedZone(spots.pk),))
    (row,) = use_rows(use_log(UseLogFilter()))
    assert (row.area, row.rate) == ("", "")
