"""The use log on the screen and as a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from sites.models import Property
from tests.factories import TODAY, client_for, make_customer, make_property
from tests.scheduling.views.rows import used
from treatments.models import (
    ApplicationJudgement,
    HistoricBatch,
    HistoricTreatment,
    RecordPersonalValue,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Any:
    """The pages are read at noon of the suite's day."""
    with time_machine.travel(f"{TODAY}T17:00:00+00:00", tick=True):
        yield


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    """A property to treat."""
    return make_property(make_customer(branch_ohio, "Zeta Bakery"))


def read(person: Person, address: str) -> str:
    answer = client_for(person).get(address)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def exported(person: Person, query: str = "") -> list[dict[str, str]]:
    answer = client_for(person).get(f"/use-log.csv{query}")
    assert answer.status_code == 200
    assert answer.streaming
    text = b"".join(answer.streaming_content).decode()
    return list(csv.DictReader(io.StringIO(text)))


def test_a_row_says_what_how_much_where_and_at_which_visit(
    manager: Person, technician: Person, place: Property
) -> None:
    record = used(place, technician, "Demonstration A SC")
    page = read(manager, "/use-log/")
    assert "Demonstration A SC" in page
    assert record.registration_number in page
    assert "0.48 fl oz" in page and "0.6 gal" in page and "600 sq ft" in page
    # 0.48 fl oz on 600 sq ft is 0.48 / 0.6 = 0.80 fl oz on 1,000, by hand
    assert re.search(r"0\.80?0? fl oz<span class=\"sub2\">per 1,000 sq ft", page)
    assert "Renewal" in page
    assert f'href="/record/{record.pk}/"' in page


def test_findings_stand_under_their_record(
    manager: Person, technician: Person, place: Property
) -> None:
    record = used(place, technician, "Demonstration A SC")
    ApplicationJudgement.objects.create(
        record=record,
        code="rate",
        severity="violation",
        sentence="Too much <b>of it</b>.",
        clause="label p. 3",
    )
    ApplicationJudgement.objects.create(
        record=record, code="fine", severity="note", sentence="All is well.", clause="p. 1"
    )
    page = read(manager, "/use-log/")
    assert page.count('<tr class="sub">') == 1
    assert "Too much &lt;b&gt;of it" in page and "label p. 3" in page
    assert "All is well." not in page


def test_what_the_spreadsheet_says_is_not_in_the_log(
    manager: Person, technician: Person, place: Property, branch_ohio: Branch
) -> None:
    record = used(place, technician, "Demonstration A SC")
    batch = HistoricBatch.objects.create(
        branch=branch_ohio, file_name="a.csv", file_sha256="0" * 64, rows=1
    )
    HistoricTreatment.objects.create(
        batch=batch,
        zone=record.treated_areas.get().zone,
        product_as_written="Old stuff",
        applied_on=TODAY - timedelta(days=200),
    )
    assert "Old stuff" not in read(manager, "/use-log/")
    assert len(exported(manager)) == 1


def test_filters_and_totals(manager: Person, technician: Person, place: Property) -> None:
    used(place, technician, "Demonstration A SC", applied_on=TODAY)
    used(place, technician, "Demonstration A SC", applied_on=TODAY - timedelta(days=40))
    used(place, technician, "Demonstration B gel", applied_on=TODAY)
    queries = {
        "?since=2026-11-01": 2,
        "?until=2026-11-01": 1,
        "?since=11/01/2026&until=11/30/2026": 2,
        "?product=Demonstration+B+gel": 1,
        f"?applicator={technician.pk}": 3,
        f"?branch={place.branch_id}": 3,
        "?severity=violation": 0,
    }
    for query, expected in queries.items():
        assert len(exported(manager, query)) == expected, query
        page = read(manager, f"/use-log/{query}")
        assert f"<b>{expected} application" in page, query
    # 2 x 0.48 fl oz of product A
    assert "0.96 fl oz" in read(manager, "/use-log/")


@pytest.mark.parametrize(
    "query",
    ["since=31-31-31", "until=yesterday", "applicator=abc", "branch=x", "severity=9", "page=zz"],
)
def test_nonsense_in_the_address_is_a_sentence(
    manager: Person, technician: Person, place: Property, query: str
) -> None:
    used(place, technician, "Demonstration A SC")
    page = read(manager, f"/use-log/?{query}")
    assert "Demonstration A SC" in page
    assert query == "page=zz" or 'class="note watch"' in page
    assert len(exported(manager, f"?{query}")) == 1


def test_queries_do_not_grow_with_the_rows(
    manager: Person, technician: Person, place: Property
) -> None:
    client = client_for(manager)

    def queries(rows: int) -> int:
        for _ in range(rows):
            used(place, technician, "Demonstration A SC")
        with CaptureQueriesContext(connection) as seen:
            assert client.get("/use-log/").status_code == 200
        return len(seen)

    assert queries(3) == queries(27)


def test_the_file_defuses_formulas_and_names_every_column(
    manager: Person, technician: Person, place: Property
) -> None:
    record = used(place, technician, "=HYPERLINK(1)")
    RecordPersonalValue.objects.create(
        record=record, field="customer_name", value="@SUM(A1)", salt=b"0" * 32
    )
    (row,) = exported(manager)
    assert row["Product"] == "'=HYPERLINK(1)"
    assert row["Customer"] == "'@SUM(A1)"
    assert row["Applied on"] == TODAY.isoformat()
    assert row["Undiluted product"] == "0.48 fl oz"
    assert row["Treated size"] == "600 sq ft"
    assert row["Visit kind"] == "Renewal"
    assert row["Record"] == str(record.pk)


def test_work_along_a_length_shows_its_length(
    manager: Person, technician: Person, place: Property
) -> None:
    # 17.5 ft is 17.5 x 304.8 = 5334 mm exactly (NIST Handbook 44, Appendix C)
    used(place, technician, "Demonstration F spray", area_mm2=0, length_mm=5334)
    (row,) = exported(manager)
    assert row["Treated size"] == "17.5 ft"
    assert "17.5 ft" in read(manager, "/use-log/")


def test_only_who_may_sees_and_exports(
    office: Person, technician: Person, stranger: Person, place: Property
) -> None:
    used(place, technician, "Demonstration A SC")
    for person in (office, technician, stranger):
        for address in ("/use-log/", "/use-log.csv"):
            assert client_for(person).get(address).status_code == 403


def test_an_empty_log_says_when_the_first_entry_appears(manager: Person) -> None:
    assert "The first entry appears when" in read(manager, "/use-log/")
    assert exported(manager) == []
