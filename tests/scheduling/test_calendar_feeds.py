"""Calendar feeds: read again by another parser (vobject), private, revocable."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
import vobject
from django.test import Client
from django.urls import reverse

from accounts.models import FeedLink, Person
from accounts.services.feeds import make_feed, take_feed_back
from scheduling.reports.calendar_feed import FeedEvent, draw_feed
from sites.models import PropertyAccess
from tests.factories import client_for, make_contact, make_customer, make_property, make_visit

NOW = datetime.now(UTC).replace(microsecond=0)


@pytest.mark.parametrize(
    "street",
    [
        "12 Maple Street; rear, unit 3\\4",  # RFC 5545, 3.3.11: these are escaped
        "Ünder den Linden " + "ä" * 90,  # 3.1: folded at 75 octets, not inside a letter
        "Line\nbreak BEGIN:VEVENT",
    ],
)
def test_another_parser_reads_what_was_written(street: str) -> None:
    at = datetime(2026, 11, 1, 5, 30, tzinfo=UTC)  # an hour shown twice in New York
    drawn = draw_feed(
        "Visits", [FeedEvent("a@firm.example", at, at + timedelta(hours=1), street, False, at)]
    )
    assert drawn.endswith(b"END:VCALENDAR\r\n") and b"\n" not in drawn.replace(b"\r\n", b"")
    assert max(len(one) for one in drawn.split(b"\r\n")) <= 75
    [event] = vobject.readOne(drawn.decode()).vevent_list
    assert event.summary.value == street and event.uid.value == "a@firm.example"
    assert (event.dtstart.value, event.dtend.value) == (at, at + timedelta(hours=1))
    assert event.status.value == "CONFIRMED"


@pytest.fixture
def token(technician: Person) -> str:
    return make_feed(by=technician, now=NOW)


def feed(token: str) -> str:
    return reverse("feed", args=[token])


@pytest.mark.django_db
def test_street_and_time_only(token: str, technician: Person, office: Person) -> None:
    place = make_property(make_customer(technician.branch, "Hidden Customer"))
    make_contact(place.customer, "Hidden Contact")
    PropertyAccess.objects.create(property=place, gate_code="4711")
    make_visit(place, technician, NOW.date(), note="Hidden note")
    make_visit(place, technician, NOW.date(), hour=17, state="canceled")
    make_visit(make_property(place.customer), office, NOW.date())
    answer = Client().get(feed(token))
    assert (
        answer["Content-Type"].startswith("text/calendar") and "no-store" in answer["Cache-Control"]
    )
    text = answer.content.decode()
    events = vobject.readOne(text).vevent_list
    assert [one.status.value for one in events] == ["CONFIRMED", "CANCELLED"]
    assert {one.summary.value for one in events} == {place.street}
    assert "Hidden" not in text and "4711" not in text
    assert FeedLink.objects.get().last_read_at is not None


@pytest.mark.django_db
def test_only_the_digest_is_kept_and_another_address_ends_the_first(
    token: str, technician: Person
) -> None:
    assert token not in str(list(FeedLink.objects.values()))
    second = make_feed(by=technician, now=NOW)
    assert [Client().get(feed(one)).status_code for one in (token, second)] == [404, 200]
    take_feed_back(by=technician, now=NOW)
    gone, never = Client().get(feed(second)), Client().get(feed("x" * 43))
    assert (
        (gone.status_code, gone.content)
        == (never.status_code, never.content)
        == (404, gone.content)
    )


@pytest.mark.django_db
def test_who_left_has_no_feed(token: str, technician: Person) -> None:
    Person.objects.filter(pk=technician.pk).update(is_active=False)
    assert Client().get(feed(token)).status_code == 404


@pytest.mark.django_db
def test_the_address_is_shown_once(technician: Person) -> None:
    client = client_for(technician)
    assert "/calendar/" in client.post(reverse("own_feed")).content.decode()
    assert ".ics" not in client.get(reverse("own_feed")).content.decode()


@pytest.mark.django_db
def test_an_empty_calendar_is_still_one(token: str) -> None:
    text = Client().get(feed(token)).content.decode()
    assert vobject.readOne(text).version.value == "2.0"
