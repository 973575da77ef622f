"""A property's logbook by link: what opens it, what ends it, what stands in it."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import AuditEvent, ContactLink, Customer, OpenItem, Person
from accounts.refusals import Refused
from accounts.services.contact_links import GivenLink
from scheduling.models import VisitApplication
from scheduling.services.sweep import sweep_now
from sites.models import Property, PropertyAccess, Sighting, SightingAnswer
from sites.services.logbook import ask_action, note_review, note_step, write_plan
from sites.services.site_links import give_logbook_link
from tests.factories import (
    client_for,
    make_contact,
    make_customer,
    make_label,
    make_product,
    make_property,
    make_record,
    make_visit,
    make_zone,
)
from tests.logbooks import make_sighting
from tests.scheduling.logbook_house import (
    DAY,
    NOW,
    bare,
    clock,
    fresh_counters,
    given,
    guest,
    path_of,
    place,
    told,
    words_of,
)
from treatments.models import LabelFile

__all__ = ["clock", "fresh_counters", "given", "guest", "place"]
pytestmark = pytest.mark.django_db


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
        assert (answer.status_code, bare(answer)) == (404, bare(unknown))
    assert not Sighting.objects.exists()


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
    paper = words_of(guest.post(reverse("site_logbook_paper")).content)
    for text in (page, paper):
        assert visit.technician.full_name in text and "Ants" in text
        for private in ("4711", "under the pot", "Robin", "0188", "0177", "rude"):
            assert private not in text


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
        spot="Dock",
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


def test_the_number_of_queries_does_not_grow(
    place: Property,
    office: Person,
    guest: Client,
    technician: Person,
    django_assert_max_num_queries: Any,
) -> None:
    def grow() -> None:
        for _ in range(3):
            make_visit(place, technician, DAY, state="done")
            sighting = make_sighting(place)
            SightingAnswer.objects.create(sighting=sighting, note="x", created_by=office)
            make_sighting(place)

    pages = (
        (guest, reverse("site_logbook")),
        (client_for(office), reverse("property_logbook", args=[place.pk])),
        (client_for(office), reverse("property", args=[place.pk])),
    )
    found = []
    for _ in range(2):
        grow()
        for client, url in pages:
            with django_assert_max_num_queries(30) as counted:
                assert client.get(url).status_code == 200
            found.append(len(counted))
    assert found[:3] == found[3:]


def test_service_reports_labels_and_notices_of_this_property_alone(
    place: Property, guest: Client, technician: Person
) -> None:
    use = make_label(make_product("Demonstration A SC"))
    unused = make_label(make_product("Demonstration Z SC"))
    for one in (use, unused):
        LabelFile.objects.create(
            label_version=one.label_version,
            kind="label",
            name="label.pdf",
            content=b"%PDF-1.7",
            size=8,
        )
    visit = make_visit(place, technician, DAY, state="done")
    record = make_record(make_zone(place), technician, use, visit_ref=str(visit.ref))
    VisitApplication.objects.create(visit=visit, record=record)
    other = make_visit(make_property(place.customer), technician, DAY, state="done")
    page = guest.get(reverse("site_logbook")).content.decode()
    assert "Demonstration A SC" in page and "Demonstration Z SC" not in page
    asked = {
        reverse("site_logbook_label", args=[use.label_version_id, "label"]): 200,
        reverse("site_logbook_label", args=[unused.label_version_id, "label"]): 404,
        reverse("site_logbook_label", args=[use.label_version_id, "safety_sheet"]): 404,
        reverse("site_logbook_notice", args=[visit.pk]): 200,
        reverse("site_logbook_notice", args=[other.pk]): 404,
    }
    assert {url: guest.post(url).status_code for url in asked} == asked
    assert AuditEvent.objects.filter(act="contact_paper").count() == 2
