"""Sightings told by link and by code, attacked, throttled and answered."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import OpenItem, Person
from accounts.services.contact_links import GivenLink
from sites.models import Property, Sighting, SightingAnswer, SiteCode
from sites.services.site_links import make_code, take_code_back
from tests.factories import (
    client_for,
    make_customer,
    make_property,
    make_visit,
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

__all__ = ["clock", "fresh_counters", "given", "guest", "place"]
pytestmark = pytest.mark.django_db


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
    assert "Snap traps set" in words_of(guest.post(reverse("site_logbook_paper")).content)


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
        {"spot": ""},
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
        found.append((answer.status_code, bare(answer)))
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
    assert f"{codes[-1][:5]}-{codes[-1][5:]}" in words_of(paper.content)


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
