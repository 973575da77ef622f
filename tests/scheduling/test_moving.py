"""Moving a visit: everything booking asks for is asked again, and what cannot move stays."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any

import pytest

from accounts.models import Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from scheduling.services.moving import move_visit
from sites.models import Property
from tests.factories import (
    client_for,
    make_customer,
    make_person,
    make_property,
    make_renewal,
    make_shift,
)
from tests.scheduling.bookings import DAY, NOW, book

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 11, 30)


@pytest.fixture
def home(technician: Person) -> Property:
    for weekday in (0, 4):
        make_shift(technician, weekday)
    return make_property(make_customer(technician.branch))


def move(visit: Visit, by: Person | None = None, **asked: Any) -> Visit:
    wanted: dict[str, Any] = {
        "technician_id": visit.technician_id,
        "day": MONDAY,
        "window_opens": time(13),
        "window_closes": time(15),
    }
    return move_visit(visit_id=visit.pk, by=by, now=NOW, **(wanted | asked))


def refusal(visit: Visit, **asked: Any) -> Refused:
    before = Visit.objects.values().get(pk=visit.pk)
    with pytest.raises(Refused) as refused:
        move(visit, **asked)
    assert Visit.objects.values().get(pk=visit.pk) == before
    return refused.value


def test_a_visit_moves_with_its_renewal_and_minutes(home: Property, technician: Person) -> None:
    renewal = make_renewal(home, opens_on=date(2026, 11, 1))
    visit = book(technician, renewal_id=renewal.pk)
    moved = move(visit)
    assert (moved.day, moved.renewal_id, moved.minutes) == (MONDAY, renewal.pk, 45)
    # 13:00 in Columbus, five hours behind UTC; lunch is had before
    assert moved.starts_at == datetime(2026, 11, 30, 18, tzinfo=UTC)
    renewal.refresh_from_db()
    assert renewal.state == "booked"


def test_a_visit_moves_inside_its_own_place(home: Property, technician: Person) -> None:
    visit = book(technician, property_id=home.pk, minutes=240)
    assert move(visit, day=DAY, window_opens=time(9), window_closes=time(10)).day == DAY


def test_a_refusal_says_with_what_it_collides(home: Property, technician: Person) -> None:
    other = make_property(home.customer, "9 Full Street")
    book(
        technician,
        property_id=other.pk,
        day=MONDAY,
        window_opens=time(13),
        minutes=200,
        window_closes=time(13, 30),
    )
    refused = refusal(book(technician, property_id=home.pk))
    assert refused.code == "no_place"
    assert "Planned there: 9 Full Street." in refused.sentence


def test_started_visits_stay(home: Property, technician: Person) -> None:
    visit = book(technician, property_id=home.pk)
    Visit.objects.filter(pk=visit.pk).update(state=VisitState.STARTED)
    refused = refusal(visit)
    assert refused.sentence == "This visit is started; only a booked visit can be moved."


def test_what_booking_refuses_is_refused(home: Property, technician: Person) -> None:
    visit = book(technician, property_id=home.pk)
    assert refusal(visit, day=date(2026, 12, 1)).code == "no_shift"
    assert refusal(visit, day=date(2026, 11, 24)).code == "past"
    away = make_person([Role.TECHNICIAN], home.branch)
    assert refusal(visit, technician_id=away.pk).code == "no_license"
    renewal = make_renewal(home, opens_on=DAY)
    early = book(technician, renewal_id=renewal.pk, window_closes=time(16))
    assert refusal(early, day=date(2026, 11, 25)).code == "too_early"


def test_the_week_shows_it_and_the_form_moves_it(
    home: Property, technician: Person, office: Person
) -> None:
    visit = book(technician, property_id=home.pk, day=date(2026, 12, 4))
    client = client_for(office)
    page = client.get("/calendar/?date=2026-12-02").content.decode()
    assert home.street in page
    assert f'data-move="/visits/{visit.pk}/move/"' in page
    fields = {"technician": technician.pk, "window_opens": "09:00", "window_closes": "11:00"}
    refused = client.post(f"/visits/{visit.pk}/move/", fields | {"day": "2026-12-08"})
    assert refused.status_code == 422
    assert "has no shift on Tuesdays" in refused.content.decode()
    moved = client.post(f"/visits/{visit.pk}/move/", fields | {"day": "2026-12-11"})
    assert moved.status_code == 302
    assert home.street in client.get(moved["Location"]).content.decode()
