"""The pests that labels name, from the browser."""

from __future__ import annotations

import pytest

from accounts.models import Person
from sites.models import Pest
from tests.factories import client_for, make_pest

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
ANT = {"common_name": "House ant", "group": "ants", "kind": "target"}


def test_a_manager_adds_a_pest_and_everybody_sees_it(manager: Person, technician: Person) -> None:
    assert client_for(manager).post("/pests/add/", ANT).status_code == 302
    pest = Pest.objects.get()
    assert (pest.common_name, pest.group, pest.created_by) == ("House ant", "ants", manager)
    client = client_for(technician)
    assert "House ant" in client.get("/pests/").content.decode()
    assert client.post("/pests/add/", ANT | {"common_name": "Other"}).status_code == 403


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"common_name": ""}, "common_name", "write the name that labels use"),
        ({"common_name": "brown ANT"}, "common_name", "on the list already"),
        ({"group": "moon"}, "group", "Select a valid choice"),
    ],
)
def test_a_pest_that_cannot_be_is_said_at_its_field(
    manager: Person, fields: dict[str, str], field: str, words: str
) -> None:
    make_pest("Brown ant")
    typed = ANT | {"scientific_name": "Formica exempla"} | fields
    answer = client_for(manager).post("/pests/add/", typed)
    assert answer.status_code == 422 and Pest.objects.count() == 1
    assert words in str(answer.context["form"].errors[field])
    assert 'value="Formica exempla"' in answer.content.decode()
