"""What the phone shows: the day, the stop, the mix; who sees what, and how often one asks."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from sites.models import PropertyAccess
from tests.factories import TODAY, client_for, make_contact, make_customer, make_visit, make_zone
from tests.scheduling.field.conftest import Stop
from tests.scheduling.views.rows import due_place
from treatments.models import LabelUse

pytestmark = pytest.mark.django_db


def text(answer: Any) -> str:
    return answer.content.decode().replace("\xa0", " ")


def asked(stop: Stop, path: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert stop.client.get(path).status_code == 200
    return len(queries)


def test_today_lists_the_own_stops_of_today(stop: Stop, other_technician: Person) -> None:
    place = stop.visit.property
    tomorrow = due_place(place.branch, other_technician, customer="Tomorrow's Customer").property
    make_visit(tomorrow, stop.visit.technician, TODAY + timedelta(days=1))
    other = due_place(place.branch, other_technician, customer="Another Customer").property
    make_visit(other, other_technician)
    page = text(stop.client.get("/today/"))
    assert place.customer.name in page
    assert "Today: 1 stop" in page
    assert "Tomorrow's Customer" not in page
    assert "Another Customer" not in page


def test_the_way_in_is_shown_on_the_day_only(stop: Stop, office: Person) -> None:
    PropertyAccess.objects.create(property=stop.visit.property, gate_code="4711#")
    assert "4711#" in text(stop.client.get(stop.path))
    assert client_for(office).get(stop.path).status_code == 403
    for day in (TODAY - timedelta(days=1), TODAY + timedelta(days=1)):
        stop.visit.day = day
        stop.visit.save()
        assert "4711#" not in text(stop.client.get(stop.path))


def test_the_stop_shows_the_telephones_of_its_customer_and_no_money(stop: Stop) -> None:
    other = make_contact(make_customer(stop.visit.property.branch), "Somebody Else")
    page = text(stop.client.get(stop.path))
    phone = stop.visit.property.customer.contacts.get().phone
    assert f"tel:{phone}" in page
    assert other.phone not in page
    assert "$" not in page
    assert stop.visit.property.customer.billing_address not in page


def test_the_mix_says_area_amount_and_loads(stop: Stop) -> None:
    page = text(stop.mix())
    # 120 ft x (2 + 3) ft = 600 sq ft; 0.8 fl oz per 1,000 sq ft less 5 % is 0.456, which is
    # 13.4855 mL (29.5735 mL a fl oz): 13 on marks of 1 mL, and 13 mL are 0.4396 fl oz
    assert "600 sq ft" in page
    assert '<span class="main">13 mL</span><span class="also">0.43 fl oz</span>' in page
    assert "Load 1 of 1" in page
    assert "Allowed" in page


def test_the_mix_warns_of_the_last_use_that_is_booked_already(stop: Stop) -> None:
    LabelUse.objects.filter(pk=stop.use.pk).update(uses_per_year=2)
    assert "more is booked" not in text(stop.mix())  # this visit itself is not one more
    Visit.objects.filter(pk=stop.visit.pk).update(day=TODAY + timedelta(days=14))
    today = make_visit(stop.visit.property, stop.visit.technician)
    mix = f"/stops/{today.pk}/mix/{stop.choice}"
    said = "use 1 of 2 this year, one more is booked Dec 9, 2026."
    assert said in text(stop.client.get(mix))
    Visit.objects.filter(pk=stop.visit.pk).update(state=VisitState.CANCELED)
    assert "more is booked" not in text(stop.client.get(mix))


def test_the_record_page_never_fills_in_the_amount(stop: Stop) -> None:
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}"))
    field = next(line for line in page.split("<") if 'name="product_amount"' in line)
    assert "value=" not in field


def test_the_record_page_without_a_choice_leads_back_to_it(stop: Stop) -> None:
    answer = stop.client.get(f"{stop.path}record/")
    assert answer.status_code == 302
    assert answer.url.startswith(f"{stop.path}mix/")


def test_pages_ask_as_often_for_many_rows_as_for_few(stop: Stop) -> None:
    pages = ("/today/", stop.path, f"{stop.path}mix/", f"{stop.path}mix/{stop.choice}")
    few = [asked(stop, page) for page in pages]
    for _ in range(8):
        renewal = due_place(stop.visit.property.branch, stop.visit.technician, zones=3)
        make_visit(renewal.property, stop.visit.technician, renewal=renewal)
        make_zone(stop.visit.property)
        make_contact(stop.visit.property.customer)
    assert [asked(stop, page) for page in pages] == few
