"""A property's logbook by link and code: what opens, what never does, what is answered."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import AuditEvent, ContactLink, Customer, OpenItem, Person
from accounts.refusals import Refused
from accounts.services.contact_links import GivenLink
from scheduling.services.sweep import sweep_now
from sites.models import Property, PropertyAccess, Sighting, SightingAnswer, SiteCode
from sites.services.logbook import ask_action, note_review, note_step, write_plan
from sites.services.site_links import give_logbook_link, make_code, take_code_back
from tests.factories import (
    client_for,
    make_contact,
    make_customer,
    make_property,
    make_sighting,
    make_visit,
)

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)
DAY = date(2026, 11, 25)
SEEN = {
    "what": "A <b>mouse</b> & droppings",
    "where": "Kitchen, under the sink",
    "seen_on": "2026-11-25",
    "seen_at": "about 7 PM",
    "how_many": "one",
    "name": "Casey Example",
}


@pytest.fixture(autouse=True)
def _fresh_counters() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(NOW, tick=False) as moved:
        yield moved


@pytest.fixture
def place(office: Person) -> Property:
    return make_property(make_customer(office.branch, "Demonstration Diner", kind="commercial"))


@pytest.fixture
def given(place: Property, office: Person) -> GivenLink:
    contact = make_contact(place.customer, "Lee Example", phone="+16145550177")
    return give_logbook_link(
        property_id=place.pk,
        contact_id=contact.pk,
        last_day=DAY + timedelta(days=10),
        by=office,
        now=NOW,
    )


@pytest.fixture
def guest(given: GivenLink) -> Client:
    client = Client()
    assert client.get(path_of(given)).status_code == 200
    assert client.post(path_of(given)).url == reverse("site_logbook")
    return client


def path_of(given: GivenLink) -> str:
    return reverse("site_logbook_enter", args=[given.token])


def told(**fields: object) -> dict[str, object]:
    return {**SEEN, "once": str(uuid.uuid4()), **fields}


def test_only_the_digest_of_the_token_is_kept(given: GivenLink) -> None:
    assert re.fullmatch(r"[\w-]{43}", given.token)  # 256 bits in base 64 without padding
    kept = str(list(ContactLink.objects.values())) + str(list(AuditEvent.objects.values()))
    assert given.token not in kept


def test_the_office_makes_a_link_that_is_shown_once(place: Property, office: Person) -> None:
    contact = make_contact(place.customer)
    client, url = client_for(office), reverse("logbook_link", args=[place.pk])
    page = client.post(url, {"contact": contact.pk, "last_day": "2026-12-24"}).content.decode()
    (link,) = re.findall(r"https?://[^<]+(/logbook/enter/[\w-]+/)", page)
    for again in (url, reverse("property_logbook", args=[place.pk])):
        assert link not in client.get(again).content.decode()
    assert Client().post(link).status_code == 302
    for wrong in ({"contact": 999, "last_day": "2026-12-24"}, {"contact": contact.pk}):
        assert client.post(url, wrong).status_code == 422
    late = {"contact": contact.pk, "last_day": "2028-12-24"}
    assert b"400 days ahead" in client.post(url, late).content
    assert ContactLink.objects.count() == 1


def test_a_contact_of_somebody_else_gets_no_link(place: Property, office: Person) -> None:
    other = make_contact(make_customer(office.branch))
    with pytest.raises(Refused, match="contact of this customer"):
        give_logbook_link(
            property_id=place.pk, contact_id=other.pk, last_day=DAY, by=office, now=NOW
        )


def test_pages_are_private_and_sign_out_who_was_here(given: GivenLink, office: Person) -> None:
    client = client_for(office)
    confirm = client.get(path_of(given))
    client.post(path_of(given))
    assert client.get(reverse("customers")).status_code == 302
    unknown = Client().get(reverse("site_logbook_enter", args=["A" * 43]))
    for answer in (confirm, client.get(reverse("site_logbook")), unknown):
        assert "no-store" in answer["Cache-Control"]
        assert answer["Referrer-Policy"] == "same-origin"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"


def test_looking_at_the_link_opens_nothing(given: GivenLink) -> None:
    client = Client()
    assert client.get(path_of(given)).status_code == 200
    assert client.get(reverse("site_logbook")).status_code == 404
    given.link.refresh_from_db()
    assert given.link.last_opened_at is None
    client.post(path_of(given))
    given.link.refresh_from_db()
    assert given.link.last_opened_at == NOW


def _taken_back(given: GivenLink, office: Person, clock: Any) -> None:
    end = reverse("logbook_link_end", args=[given.link.pk])
    assert client_for(office).post(end).status_code == 302


def _over(given: GivenLink, office: Person, clock: Any) -> None:
    # the midnight after the last day in Ohio, Eastern Standard Time, UTC-5
    clock.move_to(datetime(2026, 12, 6, 5, tzinfo=UTC))


def _closed(given: GivenLink, office: Person, clock: Any) -> None:
    Customer.objects.update(status=Customer.Status.CLOSED)


def _sold(given: GivenLink, office: Person, clock: Any) -> None:
    Property.objects.update(customer=make_customer(office.branch))


def _contact_gone(given: GivenLink, office: Person, clock: Any) -> None:
    given.link.contact.delete()


@pytest.mark.parametrize("ends", [_taken_back, _over, _closed, _sold, _contact_gone])
def test_what_ends_a_link_ends_its_session_and_answers_like_an_unknown_one(
    ends: Any, given: GivenLink, guest: Client, office: Person, clock: Any
) -> None:
    ends(given, office, clock)
    unknown = Client().get(reverse("site_logbook_enter", args=["A" * 43]))
    assert unknown.status_code == 404
    for answer in (
        Client().get(path_of(given)),
        Client().post(path_of(given)),
        guest.get(reverse("site_logbook")),
        guest.post(reverse("site_logbook_tell"), told()),
    ):
        assert (answer.status_code, _bare(answer)) == (404, _bare(unknown))
    assert not Sighting.objects.exists()


def _bare(answer: Any) -> str:
    return re.sub(r'(nonce|value)="[^"]+"', "", answer.content.decode())


def test_it_lasts_through_its_last_day(given: GivenLink, guest: Client, clock: Any) -> None:
    clock.move_to(datetime(2026, 12, 6, 4, 59, 59, tzinfo=UTC))
    assert guest.get(reverse("site_logbook")).status_code == 200


def test_wrong_links_are_counted_and_lock_no_neighbor_out(given: GivenLink) -> None:
    client, wrong = Client(), reverse("site_logbook_enter", args=["A" * 43])
    found = [client.get(wrong).status_code for _ in range(22)]
    assert found == [404] * 20 + [429] * 2
    assert client.post(path_of(given)).status_code == 302


def test_no_access_note_and_no_other_contact(
    place: Property, guest: Client, technician: Person
) -> None:
    PropertyAccess.objects.create(property=place, gate_code="4711", notes="Key under the pot")
    make_contact(place.customer, "Robin Other", phone="+16145550188", email="robin@x.example")
    make_sighting(place)
    visit = make_visit(place, technician, DAY, state="done", ending_note="The cook was rude")
    page = guest.get(reverse("site_logbook")).content.decode()
    paper = _words(guest.post(reverse("site_logbook_paper")).content)
    for text in (page, paper):
        assert visit.technician.full_name in text and "Ants" in text
        for private in ("4711", "under the pot", "Robin", "0188", "0177", "rude"):
            assert private not in text


def _words(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_a_sighting_by_link_opens_an_item_and_its_answer_shows(
    place: Property, guest: Client, office: Person
) -> None:
    sent = told()
    assert guest.post(reverse("site_logbook_tell"), sent).status_code == 302
    sighting = Sighting.objects.get()
    assert sighting.reporter.name == "Casey Example" and sighting.way == "link"
    item = OpenItem.objects.get(code="sighting", closed_at=None)
    assert "Kitchen, under the sink" in item.sentence
    page = guest.get(reverse("site_logbook")).content.decode()
    assert "A &lt;b&gt;mouse&lt;/b&gt; &amp; droppings" in page and "Casey" not in page
    client, url = client_for(office), reverse("sighting", args=[sighting.pk])
    seen = client.get(reverse("property", args=[place.pk])).content.decode()
    assert url in seen and "Casey Example" in client.get(url).content.decode()
    assert client.post(url, {"note": " ", "done_in": "none"}).status_code == 422
    assert client.post(url, {"note": "x", "done_in": "record:999"}).status_code == 422
    said = {"note": "Snap traps set, gap sealed.", "done_in": "none"}
    assert client.post(url, said).status_code == 302
    item.refresh_from_db()
    assert item.closed_at is not None
    page = guest.get(reverse("site_logbook")).content.decode()
    assert "Snap traps set, gap sealed." in page
    assert "Snap traps set" in _words(guest.post(reverse("site_logbook_paper")).content)


def test_the_same_form_twice_is_one_sighting(guest: Client) -> None:
    sent = told()
    for what in ("Ants", "Ants", "Something else"):
        sent["what"] = what
        assert guest.post(reverse("site_logbook_tell"), sent).status_code == 302
    assert [one.what for one in Sighting.objects.all()] == ["Ants"]
    assert OpenItem.objects.filter(code="sighting").count() == 1
    assert guest.post(reverse("site_logbook_tell"), told()).status_code == 302
    assert Sighting.objects.count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        {"what": "\x00\x07 "},
        {"what": "x" * 201},
        {"where": ""},
        {"seen_on": "2026-11-26"},
        {"seen_on": "2024-01-01"},
        {"seen_on": "soon"},
        {"how_many": "9"},
        {"once": "1"},
        {"name": "x" * 81},
    ],
)
def test_bad_input_is_refused_at_its_field_and_nothing_typed_is_lost(
    guest: Client, wrong: dict[str, str]
) -> None:
    answer = guest.post(reverse("site_logbook_tell"), told(**wrong))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "about 7 PM" in page
    assert not Sighting.objects.exists()


def test_control_characters_are_left_out(guest: Client) -> None:
    guest.post(reverse("site_logbook_tell"), told(what="Ants\x1b[2J\r\nin\x07 line"))
    assert Sighting.objects.get().what == "Ants [2J in line"


def test_a_huge_body_is_turned_away(guest: Client) -> None:
    guest.raise_request_exception = False
    for url in (reverse("site_logbook_tell"), reverse("code_sighting")):
        answer = guest.post(url, told(what="x" * 10_000_000))
        assert answer.status_code == 400 and len(answer.content) < 10_000
    assert not Sighting.objects.exists()


def test_forged_forms_of_other_sites_are_refused(given: GivenLink) -> None:
    client = Client(enforce_csrf_checks=True)
    assert client.post(path_of(given)).status_code == 403
    assert client.post(reverse("code_sighting"), told(code="22222-22222")).status_code == 403


def test_a_flood_by_one_link_is_throttled(guest: Client) -> None:
    found = [guest.post(reverse("site_logbook_tell"), told()).status_code for _ in range(32)]
    assert found == [302] * 30 + [422] * 2
    assert Sighting.objects.count() == 30


def test_a_code_tells_of_a_sighting_in_any_case(place: Property, office: Person) -> None:
    code = make_code(property_id=place.pk, by=office, now=NOW).code
    typed = f" {code[:5].lower()} - {code[5:]}"
    answer = Client().post(reverse("code_sighting"), told(code=typed))
    assert answer.status_code == 200 and b"It is noted" in answer.content
    assert Sighting.objects.get().property == place
    assert "no-store" in answer["Cache-Control"] and "noindex" in answer["X-Robots-Tag"]


def test_codes_that_do_not_open_answer_alike(place: Property, office: Person) -> None:
    before = make_code(property_id=place.pk, by=office, now=NOW).code
    after = make_code(property_id=place.pk, by=office, now=NOW).code
    take_code_back(property_id=place.pk, by=office, now=NOW)
    closed = make_property(make_customer(office.branch, status="closed"))
    of_closed = make_code(property_id=closed.pk, by=office, now=NOW).code
    sent, found = told(), []
    for code in (before, after, of_closed, "22222-22222", "x", "²²²²²²²²²²"):
        answer = Client().post(reverse("code_sighting"), {**sent, "code": code})
        found.append((answer.status_code, _bare(answer)))
    assert found == [found[0]] * 6 and found[0][0] == 422
    assert not Sighting.objects.exists()


def test_guessing_codes_is_throttled_for_right_ones_too(place: Property, office: Person) -> None:
    code = make_code(property_id=place.pk, by=office, now=NOW).code
    client, url = Client(), reverse("code_sighting")
    for _ in range(10):
        client.post(url, told(code="22222-22222"))
    answer = client.post(url, told(code=code))
    assert answer.status_code == 422 and b"Too many tries" in answer.content
    assert b"about 7 PM" in answer.content
    assert not Sighting.objects.exists()


def test_one_code_a_property_and_a_new_one_ends_the_last(place: Property, office: Person) -> None:
    codes = [make_code(property_id=place.pk, by=office, now=NOW).code for _ in range(3)]
    assert SiteCode.objects.get(revoked_at=None).code == codes[-1]
    paper = client_for(office).get(reverse("property_logbook_pdf", args=[place.pk]))
    assert f"{codes[-1][:5]}-{codes[-1][5:]}" in _words(paper.content)


def test_the_technician_at_the_stop_answers(
    place: Property, technician: Person, other_technician: Person
) -> None:
    visit = make_visit(place, technician, DAY)
    sighting = make_sighting(place)
    url = reverse("sighting", args=[sighting.pk])
    client = client_for(technician)
    assert url in client.get(reverse("stop", args=[visit.pk])).content.decode()
    said = {"note": "Baited the wall void.", "done_in": f"visit:{visit.ref}"}
    assert client.post(url, said).status_code == 302
    answer = SightingAnswer.objects.get()
    assert answer.done_in == f"visit:{visit.ref}" and "Terry Technician" in answer.done_in_words
    assert url not in client.get(reverse("stop", args=[visit.pk])).content.decode()
    assert client_for(other_technician).get(url).status_code == 404


def test_plan_reviews_and_actions_stand_in_the_logbook(
    place: Property, office: Person, guest: Client
) -> None:
    for text in ("Look first.", "Look first, then seal."):
        write_plan(
            property_id=place.pk,
            text=text,
            written_by="Olive",
            written_on=DAY,
            by=office,
            now=NOW,
        )
    action = ask_action(
        property_id=place.pk,
        what="Fit a door sweep",
        where="Dock",
        side="customer",
        asked_on=DAY,
        due_on=None,
        by=office,
        now=NOW,
    )
    page = guest.get(reverse("site_logbook")).content.decode()
    assert "Look first, then seal." in page and "Version 2" in page
    assert "2 versions" in page and "1 action, 1 open" in page
    assert "No map of stations" in page and "Findings of inspections are not" in page
    note_step(action_id=action.pk, note="Fitted", done_on=DAY, is_done=True, by=office, now=NOW)
    assert "Put right. Nov 25, 2026: Fitted" in guest.get(reverse("site_logbook")).content.decode()


def test_a_review_that_is_due_opens_an_item_until_the_next(
    place: Property, office: Person, clock: Any
) -> None:
    def reviewed(on: date, due: date) -> None:
        note_review(
            property_id=place.pk,
            reviewed_on=on,
            reviewed_by="Olive and Lee",
            notes="Fewer mice.",
            next_due=due,
            by=office,
            now=datetime(on.year, on.month, on.day, 20, tzinfo=UTC),
        )

    def is_open() -> bool:
        return OpenItem.objects.filter(code="site_review_due", closed_at=None).exists()

    reviewed(DAY, date(2027, 11, 25))
    sweep_now(now=NOW)
    assert not is_open()
    for _ in range(2):
        sweep_now(now=datetime(2027, 11, 25, 20, tzinfo=UTC))
        assert OpenItem.objects.filter(code="site_review_due").count() == 1
    assert is_open()
    clock.move_to(datetime(2027, 11, 26, 20, tzinfo=UTC))
    reviewed(date(2027, 11, 26), date(2028, 11, 26))
    assert not is_open()


def test_a_plan_without_a_review_asks_for_one_after_a_year(place: Property, office: Person) -> None:
    write_plan(property_id=place.pk, text="x", written_by="O", written_on=DAY, by=office, now=NOW)
    sweep_now(now=NOW + timedelta(days=364))
    assert not OpenItem.objects.filter(code="site_review_due").exists()
    sweep_now(now=NOW + timedelta(days=365))
    assert OpenItem.objects.filter(code="site_review_due").exists()
