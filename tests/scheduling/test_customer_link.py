"""The customer's page by link: what it shows, what it keeps, what it never says."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import ContactLink, Notice, NoticeEvidence, OpenItem, Person
from accounts.services.contact_links import GivenLink, take_link_back
from scheduling.models import PrepMark, Visit, VisitAnswer
from scheduling.selectors.preparing import prep_items
from scheduling.services.visit_notices import keep_visit_notices
from sites.models import Property, PropertyAccess
from tests.factories import (
    client_for,
    make_contact,
    make_customer,
    make_property,
    make_visit,
)
from tests.inspection_cases import make_finding, make_round, make_task
from tests.scheduling.logbook_house import (
    DAY,
    NOW,
    clock,
    fresh_counters,
    given,
    guest,
    path_of,
    place,
)

__all__ = ["clock", "fresh_counters", "given", "guest", "place"]
pytestmark = pytest.mark.django_db
PAGE = "site_logbook_visit"


@pytest.fixture
def visit(place: Property, technician: Person) -> Visit:
    day = DAY + timedelta(days=3)
    return make_visit(place, technician, day, kind="inspection", note="Dog bites; code 4711.")


def act(client: Client, name: str, pk: int, **sent: object) -> int:
    return client.post(reverse(f"site_logbook_{name}", args=[pk]), sent).status_code


def test_the_page_says_when_we_come_and_nothing_private(
    guest: Client, visit: Visit, place: Property
) -> None:
    PropertyAccess.objects.create(property=place, gate_code="4711", notes="Key under the pot.")
    make_contact(place.customer, "Other Person", phone="+16145550188")
    answer = guest.get(reverse(PAGE))
    page = answer.content.decode()
    assert "Sat, Nov 28, 2026" in page and "9:00 to 11:00 AM" in page
    for private in ("4711", "under the pot", "Other Person", "555-0188", "bites"):
        assert private not in page
    assert "no-store" in answer["Cache-Control"] and "noindex" in answer["X-Robots-Tag"]
    assert answer["Referrer-Policy"] == "same-origin"


def test_confirming_counts_once_and_only_by_post(guest: Client, visit: Visit) -> None:
    assert guest.get(reverse("site_logbook_confirm", args=[visit.pk])).status_code == 405
    assert [act(guest, "confirm", visit.pk) for _ in range(2)] == [302, 302]
    [kept] = VisitAnswer.objects.all()
    assert (kept.answer, kept.said_by) == ("confirmed", "Lee Example")
    assert "This time suits me" not in guest.get(reverse(PAGE)).content.decode()


def test_another_time_goes_to_the_office_and_confirming_takes_it_back(
    guest: Client, visit: Visit, office: Person
) -> None:
    assert act(guest, "other_time", visit.pk, words="Friday <after> 2 PM") == 302
    item = OpenItem.objects.get(closed_at=None)
    assert item.code == "other_time_asked" and "Friday <after> 2 PM" in item.sentence
    shown = client_for(office).get(visit.get_absolute_url()).content.decode()
    assert "Asks for another time" in shown and "Friday &lt;after&gt; 2 PM" in shown
    act(guest, "confirm", visit.pk)
    assert not OpenItem.objects.filter(closed_at=None).exists()


def test_bad_input_is_a_sentence_and_keeps_what_was_typed(guest: Client, visit: Visit) -> None:
    answer = guest.post(reverse("site_logbook_other_time", args=[visit.pk]), {"words": "x" * 301})
    assert answer.status_code == 422 and "at most 300 letters" in answer.content.decode()
    assert "x" * 301 in answer.content.decode() and not VisitAnswer.objects.exists()


def test_an_answer_to_other_hours_does_not_stand(guest: Client, visit: Visit) -> None:
    act(guest, "confirm", visit.pk)
    later = visit.window_opens_at + timedelta(hours=2)
    Visit.objects.update(window_opens_at=later, window_closes_at=later + timedelta(hours=2))
    assert "This time suits me" in guest.get(reverse(PAGE)).content.decode()


def test_items_are_ticked_and_only_those_of_the_visit(guest: Client, visit: Visit) -> None:
    [item] = prep_items(visit)
    assert act(guest, "prepared", visit.pk, done=[item.key, "0123456789abcdef"]) == 302
    assert list(PrepMark.objects.values_list("words", "is_done")) == [(item.words, True)]
    act(guest, "prepared", visit.pk)
    assert prep_items(visit)[0].is_done is False


def test_a_task_said_to_be_done_opens_one_item(guest: Client, place: Property) -> None:
    task = make_task(make_finding(make_round(place), "4"), does="customer")
    assert [act(guest, "task_done", task.pk) for _ in range(2)] == [302, 302]
    assert OpenItem.objects.get().code == "task_said_done"


def test_nothing_of_another_property(guest: Client, technician: Person, place: Property) -> None:
    for other in (
        make_property(place.customer),
        make_property(make_customer(technician.branch)),
    ):
        there = make_visit(other, technician, DAY + timedelta(days=1))
        task = make_task(make_finding(make_round(other), "4"), does="customer")
        for name in ("confirm", "other_time", "prepared"):
            assert act(guest, name, there.pk) == 404
        assert act(guest, "task_done", task.pk) == 404
    keep_visit_notices(now=NOW)
    Notice.objects.update(state="taken")
    for notice in Notice.objects.all():
        assert act(guest, "letter", notice.pk) == 404
    assert not VisitAnswer.objects.exists()


@pytest.mark.parametrize("state", ["canceled", "done"])
def test_a_visit_that_is_over_is_not_answered(guest: Client, visit: Visit, state: str) -> None:
    Visit.objects.update(state=state)
    assert act(guest, "confirm", visit.pk) == 404
    assert "No visit is booked" in guest.get(reverse(PAGE)).content.decode()


def test_letters_to_this_contact_open(guest: Client, visit: Visit) -> None:
    keep_visit_notices(now=NOW)
    notice = Notice.objects.get()
    assert act(guest, "letter", notice.pk) == 404  # it waits: nobody has it yet
    Notice.objects.update(state="taken")
    answer = guest.post(reverse("site_logbook_letter", args=[notice.pk]))
    assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf"


def test_a_letter_s_link_opens_the_visit_and_is_evidence(given: GivenLink, visit: Visit) -> None:
    keep_visit_notices(now=NOW)
    ContactLink.objects.update(made_for=Notice.objects.get())
    client = Client()
    assert client.get(path_of(given)).status_code == 200
    assert not NoticeEvidence.objects.exists()  # a scanner of mails that looks is no reader
    assert client.post(path_of(given)).url == reverse(PAGE)
    assert NoticeEvidence.objects.get().kind == "opened"


def test_what_is_taken_back_says_so_kindly_and_the_same(
    guest: Client, given: GivenLink, visit: Visit, office: Person
) -> None:
    never = Client().get(reverse("site_logbook_enter", args=["x" * 43]))
    take_link_back(link_id=given.link.pk, by=office, now=NOW)
    for answer in (guest.get(reverse(PAGE)), Client().get(path_of(given))):
        assert answer.status_code == never.status_code == 404
        assert "Ask the firm for a new one" in answer.content.decode()
        assert "Diner" not in answer.content.decode()


def test_acts_are_counted(guest: Client, visit: Visit) -> None:
    found = [act(guest, "confirm", visit.pk) for _ in range(42)]
    assert found[0] == 302 and found[-1] == 429


def test_the_page_asks_a_fixed_number_of_queries(
    guest: Client, visit: Visit, django_assert_max_num_queries: object
) -> None:
    with django_assert_max_num_queries(30):  # type: ignore[operator]
        guest.get(reverse(PAGE))
