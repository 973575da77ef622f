"""The page of one property, of one customer, and the lists that lead there."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Customer, Person
from sites.models import Preference, PropertyAccess, SiteCaution, Unit
from tests.factories import (
    TODAY,
    client_for,
    make_contact,
    make_customer,
    make_property,
    make_record,
    make_visit,
    make_window,
    make_zone,
)
from tests.scheduling.views.rows import due_place
from treatments.models import HistoricBatch, HistoricTreatment

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Any:
    """The pages are read at noon of the suite's day."""
    with time_machine.travel(f"{TODAY}T17:00:00+00:00", tick=True):
        yield


def read(person: Person, address: str) -> str:
    answer = client_for(person).get(address)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def test_the_sheet_shows_sums_line_history_visits_and_access(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician, left=9)
    place = renewal.property
    PropertyAccess.objects.create(property=place, gate_code="4711")
    SiteCaution.objects.create(property=place, kind="fish_pond", note="40 ft south")
    Preference.objects.create(
        property=place, kind="call_first", said_by="Pat", said_on=date(2026, 5, 1)
    )
    Unit.objects.create(property=place, number="2B")
    make_visit(place, technician, TODAY + timedelta(days=2), renewal=renewal, minutes=30)
    page = read(office, f"/properties/{place.pk}/")
    # 120 ft of wall, 2 ft up and 3 ft out: 120 x 5 = 600 sq ft, by hand
    assert "120 ft × (2 up + 3 out) = 600 sq ft" in page
    assert "9 days left" in page
    assert "label up to 90 days: 90 days" in page
    assert page.count("<svg") >= 2
    assert "4711" in page and "Watch, fish pond" in page and "Call first" in page and "2B" in page
    assert "Next visit" in page and "Fri, Nov 27, 2026" in page
    assert f"/renewals/{renewal.pk}/book/" in page
    for edit in (f"/properties/{place.pk}/edit/", f"/properties/{place.pk}/access/"):
        assert edit in page


def test_history_keeps_the_spreadsheet_apart_from_records(
    office: Person, manager: Person, technician: Person, branch_ohio: Branch
) -> None:
    place = make_property(make_customer(branch_ohio))
    zone = make_zone(place)
    record = make_record(zone, technician, product_name="Demonstration A SC")
    batch = HistoricBatch.objects.create(
        branch=branch_ohio, file_name="a.csv", file_sha256="0" * 64, rows=1
    )
    HistoricTreatment.objects.create(
        batch=batch, zone=zone, product_as_written="Old stuff", applied_on=date(2026, 3, 1)
    )
    page = read(manager, f"/properties/{place.pk}/")
    assert "Old stuff" in page and "the firm's spreadsheet" in page.replace("&#x27;", "'")
    assert f'href="/record/{record.pk}/"' in page
    # the office completes the records of its branch
    assert f'href="/record/{record.pk}/"' in read(office, f"/properties/{place.pk}/")


def test_a_fixed_number_of_queries_under_thirty(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    place = due_place(branch_ohio, technician, zones=3).property
    client, address = client_for(office), f"/properties/{place.pk}/"
    make_visit(place, technician, TODAY + timedelta(days=1))
    with CaptureQueriesContext(connection) as few:
        assert client.get(address).status_code == 200
    for n in range(27):
        make_window(make_record(make_zone(place, f"More {n}"), technician))
        make_visit(place, technician, TODAY - timedelta(days=n + 1))
        make_contact(place.customer, f"Contact {n}")
        Unit.objects.create(property=place, number=str(n))
    with CaptureQueriesContext(connection) as many:
        assert client.get(address).status_code == 200
    assert len(many) == len(few)
    assert len(many) < 30


def test_an_empty_property_says_what_to_do(office: Person, branch_ohio: Branch) -> None:
    place = make_property(make_customer(branch_ohio))
    page = read(office, f"/properties/{place.pk}/")
    assert "Add the first zone" in page
    assert "No treatment is known here yet." in page
    assert "Book the first visit" in page


@pytest.mark.parametrize("address", ["/properties/{}/", "/properties/{}/book/", "/customers/{}/"])
def test_rows_that_are_none_are_not_found(office: Person, address: str) -> None:
    assert client_for(office).get(address.format(987654)).status_code == 404


def test_a_technician_sees_no_office_sheet(technician: Person, branch_ohio: Branch) -> None:
    place = make_property(make_customer(branch_ohio))
    for address in (f"/properties/{place.pk}/", f"/customers/{place.customer_id}/", "/customers/"):
        assert client_for(technician).get(address).status_code == 403


def test_the_list_of_customers_filters_sorts_and_pages(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    due_place(branch_ohio, technician, customer="Zeta Bakery", street="1 Zeta Way")
    closed = make_customer(branch_ohio, "Alpha Homes", status="closed", kind="commercial")
    make_property(closed, "2 Alpha Way", city="Dublin")
    page = read(office, "/customers/")
    assert page.index("Alpha Homes") < page.index("Zeta Bakery")
    assert "9 days left" in page and "1 Zeta Way" in page
    turned = read(office, "/customers/?sort=-name")
    assert turned.index("Zeta Bakery") < turned.index("Alpha Homes")
    for query in ("name=zeta", "status=active", "kind=residential", "town=Worthington"):
        narrowed = read(office, f"/customers/?{query}")
        assert "Zeta Bakery" in narrowed and "Alpha Homes" not in narrowed, query
    assert "not one of the choices" in read(office, "/customers/?kind=9&town=%00x&sort=zz")


def test_the_list_of_customers_has_a_fixed_number_of_queries(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    client = client_for(office)

    def queries(rows: int) -> int:
        for _ in range(rows):
            due_place(branch_ohio, technician, zones=1)
        with CaptureQueriesContext(connection) as seen:
            assert client.get("/customers/").status_code == 200
        return len(seen)

    assert queries(3) == queries(27)


def test_the_sheet_of_a_customer_lists_places_contacts_and_visits(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician, left=-2, customer="Zeta Bakery")
    make_visit(renewal.property, technician)
    page = read(office, renewal.property.customer.get_absolute_url())
    assert "lapsed 2 days ago" in page and "Zeta Bakery" in page and "Pat Example" in page
    assert "Wed, Nov 25, 2026" in page
    assert "(614) 555-" in page


def test_the_search_finds_names_telephones_and_addresses(
    office: Person, branch_ohio: Branch
) -> None:
    customer = make_customer(branch_ohio, "Quillfeather Bakery")
    make_contact(customer, phone="+16145559876")
    make_property(customer, "77 Saltmarsh Way")
    for text in ("quillf", "9876", "saltmarsh"):
        assert "Quillfeather Bakery" in read(office, f"/search/?q={text}"), text
    assert "Write at least two letters" in read(office, "/search/?q=q")
    assert "Nothing found for" in read(office, "/search/?q=zzzzzz")
    assert "<script>" not in read(office, "/search/?q=<script>")


@pytest.mark.parametrize(
    "text", ["%00%00", "a%00b", "%25%25", "' OR 1=1", "\\\\", "9" * 400, "🐜🐜"]
)
def test_the_search_bears_any_text(office: Person, branch_ohio: Branch, text: str) -> None:
    make_property(make_customer(branch_ohio))
    assert client_for(office).get(f"/search/?q={text}").status_code == 200


@pytest.mark.parametrize(
    "address", ["/properties/{}/", "/customers/{}/", "/visits/{}/", "/people/{}/hours/"]
)
def test_a_key_of_any_length_is_not_found(office: Person, address: str) -> None:
    for key in (2**31, 2**63, 10**40):
        assert client_for(office).get(address.format(key)).status_code == 404


def test_the_search_shows_twenty_rows_at_most(office: Person, branch_ohio: Branch) -> None:
    for n in range(25):
        make_property(make_customer(branch_ohio, f"Maple Client {n}"))
    page = read(office, "/search/?q=maple")
    assert page.count('<th scope="row">') == 20
    assert Customer.objects.count() == 25
