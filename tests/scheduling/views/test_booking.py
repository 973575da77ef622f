"""Booking, the page of a visit and its cancellation."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from scheduling.models import Renewal, Visit
from tests.factories import (
    TODAY,
    client_for,
    make_customer,
    make_person,
    make_property,
    make_shift,
    make_visit,
)
from tests.scheduling.views.rows import due_place, used

pytestmark = pytest.mark.django_db
TOMORROW = TODAY + timedelta(days=1)


@pytest.fixture(autouse=True)
def noon() -> Any:
    """The pages are read at noon of the suite's day."""
    with time_machine.travel(f"{TODAY}T17:00:00+00:00", tick=True):
        yield


@pytest.fixture
def renewal(technician: Person, branch_ohio: Branch) -> Renewal:
    """Due in nine days, with a technician who works every day."""
    for weekday in range(7):
        make_shift(
            technician,
            weekday,
            starts=time(8),
            ends=time(17),
            lunch_from=time(11, 30),
            lunch_until=time(13, 30),
        )
    branch_ohio.latitude, branch_ohio.longitude = "40.0", "-83.0"
    branch_ohio.save()
    return due_place(branch_ohio, technician)


def entered(person: Person, **fields: Any) -> dict[str, Any]:
    return {
        "technician": person.pk,
        "day": TOMORROW.isoformat(),
        "window_opens": "09:00",
        "window_closes": "11:00",
        "minutes": "45",
        "note": "bring the long ladder",
    } | fields


def test_the_form_proposes_a_day_and_shows_what_lapses(office: Person, renewal: Renewal) -> None:
    page = client_for(office).get(f"/renewals/{renewal.pk}/book/").content.decode()
    assert "Terry Technician" in page and f'value="{TOMORROW}"' in page
    assert renewal.reason in page and "9 days left" in page


@pytest.mark.parametrize(("clock", "day"), [("10:59", TODAY), ("11:00", TOMORROW)])
def test_a_window_that_is_over_today_is_proposed_for_tomorrow(
    office: Person, renewal: Renewal, clock: str, day: date
) -> None:
    with time_machine.travel(f"{TODAY}T{clock}:00-05:00", tick=False):
        page = client_for(office).get(f"/renewals/{renewal.pk}/book/").content.decode()
    assert f'name="day" value="{day}"' in page


@pytest.mark.parametrize(
    ("note", "is_referred"), [("Bees swarming at the eave", True), ("Ants", False)]
)
def test_who_books_a_swarm_is_told_to_refer_it(
    office: Person, technician: Person, renewal: Renewal, note: str, is_referred: bool
) -> None:
    path = f"/renewals/{renewal.pk}/book/"
    answer = client_for(office).post(path, entered(technician, note=note), follow=True)
    assert ("A beekeeper takes the swarm" in answer.content.decode()) is is_referred
    assert Visit.objects.get().note == note


def test_a_booking_is_stored_and_said(office: Person, technician: Person, renewal: Renewal) -> None:
    client = client_for(office)
    answer = client.post(f"/renewals/{renewal.pk}/book/", entered(technician), follow=True)
    visit = Visit.objects.get()
    assert answer.redirect_chain == [(f"/visits/{visit.pk}/", 302)]
    page = answer.content.decode()
    assert "Booked:" in page and "9:00 to 11:00 AM" in page and "bring the long ladder" in page
    # 9:00 in Columbus in winter is 14:00 UTC
    assert visit.window_opens_at.isoformat() == f"{TOMORROW}T14:00:00+00:00"
    renewal.refresh_from_db()
    assert renewal.state == "booked"


def test_a_refusal_stands_over_the_form_and_nothing_is_lost(
    office: Person, technician: Person, renewal: Renewal
) -> None:
    technician.licenses.all().delete()
    answer = client_for(office).post(f"/renewals/{renewal.pk}/book/", entered(technician))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Not booked." in page and "icense" in page
    for typed in ("bring the long ladder", 'value="09:00"', f'value="{TOMORROW}"', 'value="45"'):
        assert typed in page, typed
    assert not Visit.objects.exists()


def test_a_full_window_offers_the_next_places(
    office: Person, technician: Person, renewal: Renewal, branch_ohio: Branch
) -> None:
    full = make_property(make_customer(branch_ohio))
    visit = make_visit(full, technician, TOMORROW, hour=14, minutes=120)
    visit.starts_at, visit.ends_at = visit.window_opens_at, visit.window_closes_at
    visit.save()
    client = client_for(office)
    typed = entered(technician, window_opens="09:00", window_closes="10:00")
    answer = client.post(f"/renewals/{renewal.pk}/book/", typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and "Not booked." in page
    assert page.count("?technician=") == 3
    start = page.index('href="?technician=') + len('href="')
    ready = page[start : page.index('"', start)].replace("&amp;", "&")
    offered = client.get(f"/renewals/{renewal.pk}/book/{ready}")
    assert offered.status_code == 200
    assert "bring the long ladder" in offered.content.decode()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("technician", "abc"),
        ("technician", "999999"),
        ("technician", ""),
        ("day", "31 February"),
        ("day", ""),
        ("day", "9999-12-31"),
        ("window_opens", "nine"),
        ("window_closes", "08:00"),
        ("minutes", "lots"),
        ("minutes", "0"),
        ("minutes", "1000000000000"),
        ("note", "x" * 301),
    ],
)
def test_what_cannot_be_is_a_sentence_at_its_field(
    office: Person, technician: Person, renewal: Renewal, field: str, typed: str
) -> None:
    address = f"/renewals/{renewal.pk}/book/"
    answer = client_for(office).post(address, entered(technician, **{field: typed}))
    assert answer.status_code == 422
    assert 'class="errorlist' in answer.content.decode()
    assert not Visit.objects.exists()


@pytest.mark.parametrize("day", ["2020-01-01", "2099-12-31", "2027-12-01"])
def test_a_day_out_of_reach_is_refused(
    office: Person, technician: Person, renewal: Renewal, day: str
) -> None:
    address = f"/renewals/{renewal.pk}/book/"
    answer = client_for(office).post(address, entered(technician, day=day))
    assert answer.status_code == 422
    assert "Not booked." in answer.content.decode()


def test_a_technician_of_another_branch_is_no_choice(
    office: Person, renewal: Renewal, branch_penn: Branch
) -> None:
    foreign = make_person(["technician"], branch_penn)
    answer = client_for(office).post(f"/renewals/{renewal.pk}/book/", entered(foreign))
    assert answer.status_code == 422
    assert "choose one of the technicians" in answer.content.decode()


def test_a_property_of_another_branch_is_not_found(office: Person, branch_penn: Branch) -> None:
    place = make_property(make_customer(branch_penn))
    assert client_for(office).get(f"/properties/{place.pk}/book/").status_code == 404
    assert client_for(office).get(f"/properties/{place.pk}/").status_code == 404


def test_another_visit_is_booked_from_the_property(
    office: Person, technician: Person, renewal: Renewal
) -> None:
    address = f"/properties/{renewal.property_id}/book/"
    assert "Inspection" in client_for(office).get(address).content.decode()
    answer = client_for(office).post(address, entered(technician, kind="inspection"))
    assert answer.status_code == 302
    assert Visit.objects.get().kind == "inspection"
    wrong = client_for(office).post(address, entered(technician, kind="renewal"))
    assert wrong.status_code == 422


def test_the_sheet_of_a_visit_shows_its_records_and_notice(
    office: Person, manager: Person, technician: Person, renewal: Renewal
) -> None:
    record = used(renewal.property, technician, "Demonstration A SC")
    visit = Visit.objects.get(applications__record=record)
    page = client_for(office).get(f"/visits/{visit.pk}/").content.decode()
    assert "Demonstration A SC" in page and f"/visits/{visit.pk}/notice.pdf" in page
    assert f'href="/record/{record.pk}/"' not in page
    assert f'href="/visits/{visit.pk}/cancel/"' not in page
    seen = client_for(manager).get(f"/visits/{visit.pk}/").content.decode()
    assert f'href="/record/{record.pk}/"' in seen


def test_canceling_says_what_happens_and_asks_why(
    office: Person, technician: Person, renewal: Renewal
) -> None:
    client = client_for(office)
    client.post(f"/renewals/{renewal.pk}/book/", entered(technician))
    visit = Visit.objects.get()
    address = f"/visits/{visit.pk}/cancel/"
    page = client.get(address).content.decode()
    assert "goes back to the rows to book" in page and "cannot be taken back" in page
    assert client.post(address, {"reason": " "}).status_code == 422
    visit.refresh_from_db()
    assert visit.state == "booked"
    assert client.post(address, {"reason": "moved away"}).status_code == 302
    visit.refresh_from_db()
    renewal.refresh_from_db()
    assert (visit.state, visit.ending_note, renewal.state) == ("canceled", "moved away", "due")
    assert "cannot be canceled" in client.get(address).content.decode()
    assert client.post(address, {"reason": "again"}).status_code == 422


def test_a_technician_may_not_book_or_cancel(technician: Person, renewal: Renewal) -> None:
    visit = make_visit(renewal.property, technician)
    for address in (
        f"/renewals/{renewal.pk}/book/",
        f"/properties/{renewal.property_id}/book/",
        f"/visits/{visit.pk}/",
        f"/visits/{visit.pk}/cancel/",
    ):
        assert client_for(technician).get(address).status_code == 403, address


def test_the_sheet_of_a_visit_has_a_fixed_number_of_queries(
    office: Person, technician: Person, renewal: Renewal
) -> None:
    visit = make_visit(renewal.property, technician)
    client, address = client_for(office), f"/visits/{visit.pk}/"
    with CaptureQueriesContext(connection) as seen:
        assert client.get(address).status_code == 200
    assert len(seen) < 15
