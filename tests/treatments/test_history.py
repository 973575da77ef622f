"""Last treatments from a spreadsheet: taken over once, nothing made up."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from accounts.models import AuditEvent, Person
from accounts.refusals import Refused
from tests.factories import make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import (
    HistoricBatch,
    HistoricTreatment,
    LogEntry,
    ResidualWindow,
    ZoneProtection,
)
from treatments.rules.applications import HistoricRow
from treatments.selectors.log import verify
from treatments.selectors.windows import historic_of
from treatments.services.history import record_history

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
ON = date(2026, 5, 12)


def take_over(house: House, *rows: HistoricRow, **changes: Any) -> HistoricBatch | None:
    """Take rows over as the import does."""
    facts: dict[str, Any] = {"file_name": "accounts.csv", "file_sha256": "ab" * 32, "by": None}
    return record_history(branch_id=house.place.branch_id, rows=rows, now=NOW, **(facts | changes))


def test_a_row_opens_the_window_it_says(house: House) -> None:
    batch = take_over(house, HistoricRow(house.band.pk, "Barrier X", "R. Okafor", ON, 90))
    row = HistoricTreatment.objects.get()
    assert (row.product_as_written, row.applicator_as_written) == ("Barrier X", "R. Okafor")
    assert row.batch == batch
    window = ResidualWindow.objects.get()
    # 90 d from May 12: 19 to May 31, 30 of June, 31 of July, 10 of August (issue: lapses Aug 10)
    assert (window.pest_group, window.days, window.expires_on) == (
        "general",
        90,
        date(2026, 8, 10),
    )
    assert window.opens_on == ON
    assert (window.historic, window.treated_area) == (row, None)
    assert ZoneProtection.objects.get().window == window


def test_missing_facts_stay_missing(house: House) -> None:
    take_over(house, HistoricRow(house.band.pk, "", "", ON, None))
    row = HistoricTreatment.objects.get()
    assert (row.product_as_written, row.applicator_as_written, row.residual_days) == ("", "", None)
    assert not ResidualWindow.objects.exists()
    assert not ZoneProtection.objects.exists()


def test_a_claim_of_no_days_is_a_claim(house: House) -> None:
    take_over(house, HistoricRow(house.band.pk, "", "", ON, 0))
    assert ResidualWindow.objects.get().expires_on == ON


def test_the_same_file_twice_changes_nothing(house: House) -> None:
    row = HistoricRow(house.band.pk, "Barrier X", "", ON, 90)
    take_over(house, row)
    assert take_over(house, row) is None
    assert HistoricBatch.objects.count() == HistoricTreatment.objects.count() == 1
    assert LogEntry.objects.count() == 1


def test_a_file_with_one_new_row_takes_that_one(house: House) -> None:
    row = HistoricRow(house.band.pk, "Barrier X", "", ON, 90)
    take_over(house, row)
    batch = take_over(house, row, HistoricRow(house.band.pk, "", "", ON + timedelta(days=90), 60))
    assert batch is not None
    assert (batch.rows, batch.treatments.count()) == (1, 1)


def test_a_zone_and_day_twice_in_a_file_is_taken_once(house: House) -> None:
    first, second = (HistoricRow(house.band.pk, name, "", ON, 90) for name in ("One", "Two"))
    take_over(house, first, second)
    assert HistoricTreatment.objects.get().product_as_written == "One"


def test_the_leaf_names_the_file_and_the_rows_and_verifies(house: House) -> None:
    batch = take_over(house, HistoricRow(house.band.pk, "Barrier X", "", ON, 90))
    assert batch is not None
    said = json.loads(bytes(LogEntry.objects.get().leaf))
    assert said["event"] == "history"
    assert said["payload"] == {
        "version": 1,
        "batch": batch.pk,
        "file_sha256": "ab" * 32,
        "rows": 1,
    }
    assert verify(house.place.branch_id).is_whole


def test_who_took_it_over_is_noted(house: House, office: Person) -> None:
    take_over(house, HistoricRow(house.band.pk, "", "", ON, 30), by=office)
    assert json.loads(bytes(LogEntry.objects.get().leaf))["actor"] == office.pk
    assert AuditEvent.objects.get(act="record_history").details == {"rows": 1}


@pytest.mark.parametrize(
    ("on", "days", "words"),
    [
        (NOW.date() + timedelta(days=2), 90, "has not come yet"),
        (ON, 3651, "is not on any label"),
        (ON, -1, "is not on any label"),
    ],
)
def test_what_cannot_be_is_refused_whole(house: House, on: date, days: int, words: str) -> None:
    good = HistoricRow(house.band.pk, "Barrier X", "", ON - timedelta(days=1), 90)
    with pytest.raises(Refused, match=words):
        take_over(house, good, HistoricRow(house.band.pk, "", "", on, days))
    assert not LogEntry.objects.exists()


def test_a_text_too_long_is_refused(house: House) -> None:
    with pytest.raises(Refused, match="too long"):
        take_over(house, HistoricRow(house.band.pk, "x" * 161, "", ON, 90))


def test_a_technician_takes_nothing_over(house: House) -> None:
    with pytest.raises(Refused) as refused:
        take_over(house, HistoricRow(house.band.pk, "", "", ON, 30), by=house.technician)
    assert refused.value.code == "not_permitted"


def test_many_rows_take_a_fixed_number_of_queries(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    zones = [make_zone(house.place, f"Wall {number}") for number in range(60)]
    rows = [HistoricRow(zone.pk, "Barrier X", "", ON, 90) for zone in zones]
    with django_assert_max_num_queries(24):
        take_over(house, *rows)
    assert ZoneProtection.objects.count() == 60
    known = historic_of(zone.pk for zone in zones)
    assert known[zones[0].pk, ON].residual_days == 90
