"""Renewals as the office reads and answers them."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from scheduling.models import Renewal
from scheduling.rules.visit_states import RenewalState
from tests.factories import TODAY, client_for, make_visit
from tests.scheduling.views.rows import due_place, many_due

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


def test_rows_come_by_days_left_in_each_group(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    for left, street in ((12, "12 Late Row"), (-3, "3 Past Row"), (5, "5 Near Row")):
        due_place(branch_ohio, technician, left=left, street=street)
    due_place(branch_ohio, technician, left=-9, street="9 No Row", state=RenewalState.DECLINED)
    page = read(office, "/renewals/")
    found = re.findall(r"<b>(\d+ \w+ Row)</b>", page)
    assert found == ["3 Past Row", "5 Near Row", "12 Late Row", "9 No Row"]
    assert page.index("To book") < page.index("3 Past Row") < page.index("Declined</b>")
    assert "lapsed" in page and "12&nbsp;d" in page


def test_the_sentence_counts_what_lapses_and_what_is_booked(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    due_place(branch_ohio, technician, left=5)
    booked = due_place(branch_ohio, technician, left=6, state=RenewalState.BOOKED)
    make_visit(booked.property, technician, TODAY + timedelta(days=2), renewal=booked)
    due_place(branch_ohio, technician, left=25)
    page = read(office, "/renewals/")
    assert "<b>2 renewals</b> lapse within 14 days; <b>1</b> is booked, " in page
    assert '<a href="/renewals/?state=to_book&amp;within=14"><b>1</b> is not</a>.' in page


def test_a_row_shows_zones_lines_reason_source_and_telephone(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician, left=9)
    page = read(office, "/renewals/")
    assert page.count('class="nm"') == 2
    assert page.count("<svg") >= 3
    assert "600 sq ft" in page
    assert "9 d left" in page
    assert renewal.reason in page
    assert re.search(r'class="src">records \d+, \d+<', page)
    assert 'href="tel:+1614555' in page
    assert f"/renewals/{renewal.pk}/book/" in page
    assert f"/renewals/{renewal.pk}/decline/" in page


def test_a_booked_row_names_day_window_and_technician(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician, state=RenewalState.BOOKED)
    make_visit(renewal.property, technician, TODAY + timedelta(days=1), renewal=renewal)
    page = read(office, "/renewals/")
    assert "Thu, Nov 26, 2026" in page
    # 14:00 UTC is 9 in Columbus in winter
    assert "9:00 to 11:00 AM" in page
    assert "Terry Technician" in page


def test_queries_do_not_grow_with_the_rows(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    client = client_for(office)
    many_due(branch_ohio, technician, 3)
    with CaptureQueriesContext(
        connection,
    ) as few:
        assert client.get("/renewals/").status_code == 200
    many_due(branch_ohio, technician, 27)
    with CaptureQueriesContext(connection) as many:
        assert client.get("/renewals/").status_code == 200
    assert len(many) == len(few)
    assert len(many) < 20


def test_filters_narrow_by_town_state_and_days(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    due_place(branch_ohio, technician, left=40, street="40 Far Row")
    due_place(branch_ohio, technician, left=2, street="2 Near Row", place={"city": "Dublin"})
    due_place(branch_ohio, technician, left=3, street="3 No Row", state=RenewalState.DECLINED)
    streets = {
        "?town=Dublin": {"2 Near Row"},
        "?within=14": {"2 Near Row", "3 No Row"},
        "?state=declined": {"3 No Row"},
        f"?branch={branch_ohio.pk}": {"40 Far Row", "2 Near Row", "3 No Row"},
    }
    for query, expected in streets.items():
        page = read(office, f"/renewals/{query}")
        assert set(re.findall(r"<b>(\d+ \w+ Row)</b>", page)) == expected, query


@pytest.mark.parametrize(
    "query", ["branch=abc", "within=zzz", "town=Nowhere", "state=eaten", "branch=99999999"]
)
def test_a_choice_that_is_none_is_named_and_left_out(
    office: Person, technician: Person, branch_ohio: Branch, query: str
) -> None:
    due_place(branch_ohio, technician)
    page = read(office, f"/renewals/?{query}")
    assert "not one of the choices" in page
    assert "Book by hand" in page


@pytest.mark.parametrize("number", ["0", "-1", "abc", "999", "2"])
def test_a_page_number_that_is_none_gives_the_nearest_page(
    office: Person, technician: Person, branch_ohio: Branch, number: str
) -> None:
    due_place(branch_ohio, technician)
    assert "Book by hand" in read(office, f"/renewals/?page={number}")


def test_fifty_rows_a_page(office: Person, technician: Person, branch_ohio: Branch) -> None:
    for left in range(53):
        due_place(branch_ohio, technician, left=left + 1, zones=1)
    assert read(office, "/renewals/").count('id="renewal-') == 50
    second = read(office, "/renewals/?page=2&within=")
    assert second.count('id="renewal-') == 3
    assert "Page 2 of 2" in second


def test_an_empty_firm_is_told_what_to_do_next(office: Person) -> None:
    page = read(office, "/renewals/")
    assert "import_accounts" in page and "sweep" in page


def test_declining_asks_why_and_keeps_the_reason(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician)
    address, client = f"/renewals/{renewal.pk}/decline/", client_for(office)
    assert client.get(address).status_code == 200
    assert client.post(address, {"reason": ""}).status_code == 422
    assert client.post(address, {"reason": "selling the house"}).status_code == 302
    renewal.refresh_from_db()
    assert (renewal.state, renewal.closing_note) == ("declined", "selling the house")
    assert "selling the house" in read(office, "/renewals/")
    assert client.post(f"/renewals/{renewal.pk}/reopen/").status_code == 302
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.DUE


def test_one_renewal_has_its_own_page(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    renewal = due_place(branch_ohio, technician, left=9)
    page = read(office, f"/renewals/{renewal.pk}/")
    assert "9 days left" in page and "Book a visit" in page


@pytest.mark.parametrize(
    "address", ["/renewals/{}/", "/renewals/{}/book/", "/renewals/{}/decline/"]
)
def test_a_renewal_that_is_none_is_not_found(office: Person, address: str) -> None:
    assert client_for(office).get(address.format(987654)).status_code == 404


def test_a_technician_does_not_see_renewals(technician: Person) -> None:
    assert client_for(technician).get("/renewals/").status_code == 403
    assert client_for(technician).get("/").headers["Location"] == "/today/"


def test_the_office_lands_on_renewals(office: Person, manager: Person) -> None:
    for person in (office, manager):
        assert client_for(person).get("/").headers["Location"] == "/renewals/"


def test_a_name_is_never_run_as_markup(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    due_place(branch_ohio, technician, customer="<script>alert(1)</script>")
    zone = Renewal.objects.get().zones.first()
    assert zone is not None
    zone.zone.name = "<b onclick=x>Band"
    zone.zone.save()
    page = read(office, "/renewals/")
    assert "<script>alert" not in page and "<b onclick" not in page
