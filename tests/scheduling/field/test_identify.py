"""A technician identifies a pest at a stop of theirs, on the visit and on the property."""

from __future__ import annotations

import uuid

import pytest

from accounts.models import Person
from scheduling.models import Visit, VisitIdentification
from sites.models import Identification
from sites.services.identification_key import load_key
from tests.factories import TODAY, client_for, make_customer, make_property, make_visit

pytestmark = pytest.mark.django_db
SEEN = "seen=shape.shield&seen=antennae.banded"


@pytest.fixture
def visit(technician: Person) -> Visit:
    load_key()
    return make_visit(make_property(make_customer(technician.branch)), technician, TODAY)


def _typed(**more: str) -> dict[str, str]:
    return {"client_ref": str(uuid.uuid4()), "taxon": "HALHA", "confidence": "likely"} | more


def test_from_the_stop_to_the_evidence_and_back(
    visit: Visit, technician: Person, office: Person
) -> None:
    client = client_for(technician)
    assert f"/stops/{visit.pk}/identify/" in client.get(f"/stops/{visit.pk}/").content.decode()
    page = client.get(f"/stops/{visit.pk}/identify/?{SEEN}").content.decode()
    assert "Record brown marmorated stink bug" in page
    assert "this tells them apart" in page and "Rough stink bug" in page
    typed = _typed(found_where="Attic")
    url = f"/stops/{visit.pk}/identify/record/?{SEEN}"
    for _ in range(2):
        answer = client.post(url, typed)
        assert answer.status_code == 302
        assert answer["Location"] == Identification.objects.get().get_absolute_url()
    row = Identification.objects.get()
    assert (row.visit_ref, row.by, row.property_id) == (
        str(visit.ref),
        technician,
        visit.property_id,
    )
    link = VisitIdentification.objects.get()
    assert (link.visit, link.identification) == (visit, row)
    assert "Brown marmorated stink bug" in client.get(f"/stops/{visit.pk}/").content.decode()
    assert client.get(row.get_absolute_url()).status_code == 200
    assert (
        "Identified at this visit"
        in client_for(office).get(f"/visits/{visit.pk}/").content.decode()
    )


def test_another_technicians_stop_is_not_there(
    visit: Visit, technician: Person, other_technician: Person
) -> None:
    client = client_for(other_technician)
    assert client.get(f"/stops/{visit.pk}/identify/").status_code == 404
    answer = client.post(f"/stops/{visit.pk}/identify/record/?{SEEN}", _typed())
    assert answer.status_code == 404 and not Identification.objects.exists()
