"""The contact log: one key press, the call list, the last contact on every due row."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts.models import Contact, ContactEntry, Customer, Person
from accounts.refusals import Refused
from accounts.rules.contact_log import again_on
from accounts.rules.phones import text_link
from accounts.selectors.contact_log import call_list
from accounts.selectors.pages import local_day
from accounts.services.contact_log import note_contact
from tests.factories import (
    client_for,
    make_contact,
    make_customer,
    make_property,
    make_renewal,
    make_visit,
)

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("outcome", "today", "again"),
    [
        ("no_answer", date(2026, 11, 25), date(2026, 11, 26)),
        ("message", date(2026, 11, 27), date(2026, 11, 30)),  # a Friday: not on the weekend
        ("no_answer", date(2026, 12, 31), date(2027, 1, 1)),
        ("reached", date(2026, 11, 25), None),
        ("wrong", date(2026, 11, 25), None),
    ],
)
def test_when_to_call_again(outcome: str, today: date, again: date | None) -> None:
    assert again_on(outcome, today) == again


@pytest.fixture
def customer(office: Person) -> Customer:
    return make_customer(office.branch, "Demonstration Diner")


def note(customer: Customer, by: Person, outcome: str, at: datetime = NOW, **more: object) -> None:
    note_contact(
        customer_id=customer.pk, way="call", outcome=outcome, by=by, now=at, **more,  # type: ignore[arg-type]
    )  # fmt: skip


@pytest.mark.django_db
def test_the_last_entry_says_whether_to_call(customer: Customer, office: Person) -> None:
    contact = make_contact(customer, phone="+16145550177")
    note(customer, office, "no_answer", contact_id=contact.pk)
    tomorrow = TODAY + timedelta(days=1)
    assert call_list(office, TODAY, None)[0] == []
    [row] = call_list(office, tomorrow, None)[0]
    assert (row.number, row.is_late) == ("(614) 555-0177", False)
    assert call_list(office, tomorrow + timedelta(days=1), None)[0][0].is_late
    note(customer, office, "reached", NOW + timedelta(hours=1), said="Come on Friday.")
    assert call_list(office, tomorrow, None)[0] == []


@pytest.mark.django_db
def test_one_key_press_and_the_due_row_says_it(customer: Customer, office: Person) -> None:
    make_renewal(make_property(customer))
    client = client_for(office)
    assert "not talked to yet" in client.get(reverse("renewals")).content.decode()
    assert client.post(reverse("contact_no_answer", args=[customer.pk])).status_code == 302
    today = local_day(customer.branch.time_zone, timezone.now())
    assert ContactEntry.objects.get().call_again_on == again_on("no_answer", today)
    assert "no answer" in client.get(reverse("renewals")).content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"way": "telepathy"}, "choose one of the list"),
        ({"said": "x" * 501}, "500"),
        ({"call_again_on": "2020-01-01"}, "from today to a year ahead"),
        ({"call_again_on": "soon"}, "write the day as"),
    ],
)
def test_bad_input_is_a_sentence(
    customer: Customer, office: Person, wrong: dict[str, str], said: str
) -> None:
    sent = {"way": "called_us", "outcome": "reached", "said": "Ants again"} | wrong
    answer = client_for(office).post(reverse("contact_note", args=[customer.pk]), sent)
    assert answer.status_code == 422 and said in answer.content.decode()
    assert not ContactEntry.objects.exists()


@pytest.mark.django_db
def test_somebody_else_s_contact_is_refused(customer: Customer, office: Person) -> None:
    other = make_contact(make_customer(office.branch))
    with pytest.raises(Refused):
        note(customer, office, "reached", contact_id=other.pk)


def test_a_text_message_is_prefilled_by_the_published_form() -> None:
    # RFC 5724, 2.2 and RFC 3986, 2.1: the body is percent-encoded
    link = text_link("+16145550177", "A & B: on my way?")
    assert link == "sms:+16145550177?body=A%20%26%20B%3A%20on%20my%20way%3F"


@pytest.mark.django_db
def test_on_my_way_only_with_agreement(customer: Customer, technician: Person) -> None:
    contact = make_contact(customer, phone="+16145550177")
    visit = make_visit(
        make_property(customer, "12 Maple Street"), technician, timezone.now().date()
    )
    url = reverse("stop", args=[visit.pk])
    assert "sms:" not in client_for(technician).get(url).content.decode()
    Contact.objects.filter(pk=contact.pk).update(texts_agreed_on=TODAY)
    page = client_for(technician).get(url).content.decode()
    assert "sms:+16145550177?body=" in page and "12%20Maple%20Street" in page
