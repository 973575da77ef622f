"""The pages of this floor: one record, and the proof of the log."""

from __future__ import annotations

import pytest

from accounts.models import Person
from tests.factories import client_for
from tests.treatments.conftest import NOW, House
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db


@pytest.fixture
def pk(house: House) -> int:
    """The key of one record."""
    application = house.application(notes="<script>alert(1)</script>")
    return record_application(application=application, by=house.technician, now=NOW).record.pk


def test_the_record_page_shows_the_record(pk: int, manager: Person) -> None:
    page = client_for(manager).get(f"/record/{pk}/")
    text = page.content.decode()
    assert page.status_code == 200
    for fact in ("1.6 fl oz", "1,600 sq ft", "Demonstration A SC", "99999-101", "Marta Ellwood"):
        assert fact in text
    assert "<script>alert(1)" not in text
    assert "Feb 23, 2027" in text


def test_who_opens_a_record(
    pk: int, house: House, office: Person, other_technician: Person, stranger: Person
) -> None:
    assert client_for(house.technician).get(f"/record/{pk}/").status_code == 200
    assert client_for(office).get(f"/record/{pk}/").status_code == 200
    assert client_for(other_technician).get(f"/record/{pk}/").status_code == 404
    assert client_for(stranger).get(f"/record/{pk}/").status_code == 403
    assert client_for(None).get(f"/record/{pk}/").status_code == 302


def test_only_who_may_verify_opens_the_log(
    pk: int, house: House, office: Person, stranger: Person
) -> None:
    for person in (house.technician, office, stranger):
        assert client_for(person).get("/log/").status_code == 403
        assert client_for(person).post("/log/").status_code == 403
    assert client_for(None).get("/log/").status_code == 302
    assert client_for(office).delete("/log/").status_code == 403
