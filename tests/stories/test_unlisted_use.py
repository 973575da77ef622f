"""A method the label does not mention, from the warning on the phone to the signature."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
import time_machine
from django.test import Client

from accounts.models import OpenItem, Person
from scheduling.models import Visit
from tests.factories import (
    client_for,
    make_customer,
    make_label,
    make_license,
    make_pest,
    make_product,
    make_property,
    make_visit,
    make_zone,
)
from treatments.models import UnlistedUseDecision

pytestmark = pytest.mark.django_db
SIGNED = {"answer": "yes", "reason": "The label is silent; cracks are open."}


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel("2026-11-25T17:00:00Z", tick=False):
        yield


@dataclass(frozen=True)
class Cracks:
    """A stop where the technician wants to treat cracks with a label of bands."""

    visit: Visit
    query: str
    client: Client

    def page(self) -> str:
        return self.client.get(f"/stops/{self.visit.pk}/mix/{self.query}").content.decode()

    @property
    def decide(self) -> str:
        return f"/stops/{self.visit.pk}/mix/decide/{self.query}"


@pytest.fixture
def cracks(technician: Person) -> Cracks:
    pest = make_pest("Brown marmorated stink bug", "overwintering")
    use = make_label(make_product("Demonstration A SC"), pests=[pest])
    place = make_property(make_customer(technician.branch, "Marta Ellwood"), "118 Sluice Lane")
    visit = make_visit(place, technician)
    query = f"?zone={make_zone(place).pk}&use={use.pk}&method=crack_crevice&pest={pest.pk}&tank=1"
    return Cracks(visit, query, client_for(technician))


def test_a_certified_technician_signs_on_the_spot(cracks: Cracks) -> None:
    page = cracks.page()
    assert "Crack and crevice is not mentioned in this direction." in page
    assert "Decide and sign" in page
    assert '<span class="w check">Sign first</span>' in page
    assert "not mentioned in this direction" in cracks.client.get(cracks.decide).content.decode()
    wrong = cracks.client.post(cracks.decide, {"answer": "yes"})
    assert wrong.status_code == 422
    assert "write why" in wrong.content.decode()
    answer = cracks.client.post(cracks.decide, SIGNED)
    assert answer.status_code == 302
    page = cracks.client.get(answer.url).content.decode()
    assert "Allowed by Terry Technician, license DEMO-" in page
    assert "on Nov 25, 2026" in page
    assert "Decide and sign" not in page
    assert '<span class="w ok">Allowed</span>' in page
    # there is nothing left to decide: back to the mix
    assert cracks.client.get(cracks.decide).status_code == 302


def test_a_no_refuses_the_mix(cracks: Cracks) -> None:
    cracks.client.post(cracks.decide, SIGNED | {"answer": "no"})
    page = cracks.page()
    assert "Not allowed by Terry Technician" in page
    assert '<span class="w refuse">Refused</span>' in page


def test_the_office_decides_for_who_is_not_certified(
    cracks: Cracks, technician: Person, office: Person, manager: Person
) -> None:
    technician.licenses.update(kind="registered_technician")
    assert "Ask the certified applicator" in cracks.page()
    assert cracks.client.post(cracks.decide, SIGNED).status_code == 302
    question = UnlistedUseDecision.objects.get()
    assert question.decided_at is None  # nobody signs by sending the certified person's form
    assert "The office is asked" in cracks.page()
    assert OpenItem.objects.get(code="unlisted_use").closed_at is None
    assert "118 Sluice Lane" in client_for(manager).get("/decisions/").content.decode()
    path = question.get_absolute_url()
    refused = client_for(office).post(path, SIGNED)
    assert refused.status_code == 422
    assert "Only a certified applicator" in refused.content.decode()
    make_license(manager)
    assert client_for(manager).post(path, SIGNED).status_code == 302
    assert "Allowed by Morgan Manager" in cracks.page()
    assert "Morgan Manager" in client_for(office).get("/decisions/").content.decode()


def test_what_the_label_is_silent_about_can_be_chosen(cracks: Cracks) -> None:
    fly = make_pest("Cluster fly", "flies")
    assert "Crack and crevice (not mentioned)" in cracks.page()
    assert "Another pest, not named by this direction" in cracks.page()
    page = cracks.client.get(
        f"/stops/{cracks.visit.pk}/mix/{cracks.query}&pest={fly.pk}"
    ).content.decode()
    assert "Cluster fly is not named in this direction." in page
    assert "Cluster fly (not named)" in page


def test_another_direction_begins_with_its_own_method(cracks: Cracks) -> None:
    other = make_label(make_product("Demonstration B SC"))
    page = cracks.client.get(
        f"/stops/{cracks.visit.pk}/mix/{cracks.query}&use={other.pk}&of=1".replace(
            "use=", "was=", 1
        )
    ).content.decode()
    assert "Demonstration B SC" in page
    assert "Perimeter band is on this direction." in page
    assert "not named in this direction." not in page
