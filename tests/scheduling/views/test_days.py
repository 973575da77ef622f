"""The planned day of all technicians, and the hours it is planned in."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from scheduling.models import Shift, TimeOff, Visit
from tests.factories import (
    TODAY,
    client_for,
    make_customer,
    make_person,
    make_property,
    make_shift,
    make_visit,
)

pytestmark = pytest.mark.django_db
HOURS = {
    "starts": time(8),
    "ends": time(17),
    "lunch_from": time(11, 30),
    "lunch_until": time(13, 30),
}


@pytest.fixture(autouse=True)
def noon() -> Any:
    """The pages are read at eight in the morning of the suite's day, in Columbus."""
    with time_machine.travel(f"{TODAY}T13:00:00+00:00", tick=True):
        yield


def read(person: Person, address: str) -> str:
    answer = client_for(person).get(address)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def week(*days: int, **fields: str) -> dict[str, str]:
    """A posted week that works these weekdays from eight to five."""
    usual = {
        "works": "on",
        "starts": "08:00",
        "ends": "17:00",
        "lunch_from": "11:30",
        "lunch_until": "13:30",
        "lunch_minutes": "30",
    } | fields
    return {f"d{day}-{name}": value for day in days for name, value in usual.items()}


def test_the_day_shows_stops_in_order_with_promise_and_plan(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    make_shift(technician, **HOURS)
    for hour, street in ((18, "2 Second Way"), (14, "1 First Way")):
        visit = make_visit(make_property(make_customer(branch_ohio), street), technician, hour=hour)
        visit.starts_at = visit.window_opens_at + timedelta(minutes=10)
        visit.ends_at = visit.starts_at + timedelta(minutes=45)
        visit.save()
    make_visit(make_property(make_customer(branch_ohio), "3 Third Way"), technician, hour=16)
    page = read(office, f"/day/?date={TODAY}")
    assert page.index("1 First Way") < page.index("2 Second Way") < page.index("3 Third Way")
    assert "9:10 to 9:55 AM" in page and "9:00 to 11:00 AM" in page
    assert "<b>3 visits</b>" in page and "<b>1</b> without a planned time" in page
    assert f"?date={TODAY + timedelta(days=1)}" in page


def test_planning_places_the_stops_and_says_so(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    make_shift(technician, **HOURS)
    branch_ohio.latitude, branch_ohio.longitude = "40.0", "-83.0"
    branch_ohio.save()
    for hour in (15, 18):
        make_visit(make_property(make_customer(branch_ohio)), technician, hour=hour)
    answer = client_for(office).post("/day/", {"date": TODAY.isoformat()})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "is planned." in page and "each has its planned time" in page
    assert Visit.objects.filter(starts_at=None).count() == 0


def test_what_finds_no_place_is_named_with_its_reason(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    make_shift(technician, **HOURS)
    branch_ohio.latitude, branch_ohio.longitude = "40.0", "-83.0"
    branch_ohio.save()
    for street in ("1 First Way", "2 Second Way"):
        place = make_property(make_customer(branch_ohio), street)
        visit = make_visit(place, technician, hour=15, minutes=150)
        visit.window_closes_at = visit.window_opens_at + timedelta(minutes=30)
        visit.save()
    page = client_for(office).post("/day/", {"date": TODAY.isoformat()}).content.decode()
    assert "1 found no place and kept its promise" in page
    assert "No place</span>" in page and "Choose another window" in page


def test_a_license_that_ended_since_the_booking_is_named(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    make_shift(technician, **HOURS)
    make_visit(make_property(make_customer(branch_ohio), "1 First Way"), technician, hour=15)
    technician.licenses.update(expires_on=TODAY - timedelta(days=1))
    page = client_for(office).post("/day/", {"date": TODAY.isoformat()}).content.decode()
    assert "No license</span>" in page and "left as planned." in page and "is not in force" in page


@pytest.mark.parametrize("query", ["date=never", "date=2026-02-31", "branch=abc", "branch=99999"])
def test_a_day_that_is_none_is_a_sentence(office: Person, query: str) -> None:
    answer = client_for(office).get(f"/day/?{query}")
    assert answer.status_code == 422
    assert 'class="note watch"' in answer.content.decode()
    posted = client_for(office).post("/day/", dict([query.split("=")]))
    assert posted.status_code == 422


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_first_and_the_last_day_there_is(office: Person, day: str) -> None:
    assert client_for(office).get(f"/day/?date={day}").status_code in (200, 422)


def test_the_day_has_a_fixed_number_of_queries(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    client = client_for(office)

    def queries(rows: int) -> int:
        for n in range(rows):
            other = make_person(["technician"], branch_ohio)
            make_shift(other, **HOURS)
            make_visit(make_property(make_customer(branch_ohio)), other, hour=14 + n % 6)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(f"/day/?date={TODAY}").status_code == 200
        return len(seen)

    assert queries(3) == queries(27)


def test_a_week_is_set_at_once(office: Person, technician: Person) -> None:
    make_shift(technician, 5, **HOURS)
    address, client = f"/people/{technician.pk}/hours/", client_for(office)
    assert "Monday" in read(office, address)
    assert client.post(address, week(0, 1, ends="16:00")).status_code == 302
    found = list(Shift.objects.order_by("weekday").values_list("weekday", "ends"))
    assert found == [(0, time(16)), (1, time(16))]
    assert client.post(address, {}).status_code == 302
    assert not Shift.objects.exists()


@pytest.mark.parametrize(
    "fields",
    [
        {"starts": "early"},
        {"starts": ""},
        {"lunch_minutes": "many"},
        {"lunch_minutes": "9999999999999"},
        {"ends": "07:00"},
        {"lunch_until": "10:00"},
    ],
)
def test_hours_that_cannot_be_change_nothing(
    office: Person, technician: Person, fields: dict[str, str]
) -> None:
    make_shift(technician, 5, **HOURS)
    answer = client_for(office).post(f"/people/{technician.pk}/hours/", week(0, **fields))
    assert answer.status_code == 422
    assert [shift.weekday for shift in Shift.objects.all()] == [5]
    assert 'value="' in answer.content.decode()


def test_time_off_is_added_and_removed(office: Person, technician: Person) -> None:
    client, address = client_for(office), f"/people/{technician.pk}/time-off/"
    days = {"starts_on": "2026-12-24", "ends_on": "2026-12-26", "reason": "holidays"}
    assert client.post(address, days).status_code == 302
    away = TimeOff.objects.get()
    assert (away.starts_on, away.ends_on) == (date(2026, 12, 24), date(2026, 12, 26))
    page = read(office, f"/people/{technician.pk}/hours/")
    assert "Thu, Dec 24, 2026" in page and "holidays" in page
    assert client.post(f"/time-off/{away.pk}/remove/").status_code == 302
    assert not TimeOff.objects.exists()


def test_time_off_over_booked_visits_asks_first(
    office: Person, technician: Person, branch_ohio: Branch
) -> None:
    make_visit(make_property(make_customer(branch_ohio)), technician, TODAY + timedelta(days=1))
    client, address = client_for(office), f"/people/{technician.pk}/time-off/"
    days = {"starts_on": "2026-11-26", "ends_on": "2026-11-26"}
    answer = client.post(address, days)
    assert answer.status_code == 422
    assert "keep_visits" in answer.content.decode()
    assert client.post(address, days | {"keep_visits": "on"}).status_code == 302
    assert TimeOff.objects.count() == 1


@pytest.mark.parametrize(
    "days",
    [
        {"starts_on": "soon", "ends_on": "2026-12-26"},
        {"starts_on": "2026-12-26", "ends_on": "2026-12-24"},
        {},
    ],
)
def test_time_off_that_cannot_be_is_a_sentence(
    office: Person, technician: Person, days: dict[str, str]
) -> None:
    answer = client_for(office).post(f"/people/{technician.pk}/time-off/", days)
    assert answer.status_code == 422
    assert not TimeOff.objects.exists()


def test_people_of_another_branch_are_not_found(office: Person, branch_penn: Branch) -> None:
    foreign = make_person(["technician"], branch_penn)
    for address in (f"/people/{foreign.pk}/hours/", f"/people/{foreign.pk}/time-off/"):
        assert client_for(office).get(address).status_code == 404
    away = TimeOff.objects.create(technician=foreign, starts_on=TODAY, ends_on=TODAY)
    assert client_for(office).post(f"/time-off/{away.pk}/remove/").status_code == 404
