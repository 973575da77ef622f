"""What cannot be recorded: a sentence, everything typed still there, nothing stored."""

from __future__ import annotations

import re

import pytest

from accounts.models import Person
from scheduling.rules.visit_states import VisitState
from tests.factories import client_for, make_customer, make_property, make_zone
from tests.scheduling.field.conftest import TYPED, Stop
from tests.scheduling.field.kept import everything

pytestmark = pytest.mark.django_db
WRONG = {
    "letters for a number": ({"product_amount": "lots"}, "is not a number"),
    "ten to the twelfth": ({"product_amount": "1000000000000"}, "more than the most taken here"),
    "an exponent": ({"product_amount": "1e12"}, "is not a number"),
    "below zero": ({"product_amount": "-0.48"}, "below zero"),
    "a comma": ({"product_amount": "0,48"}, "comma"),
    "no amount": ({"product_amount": ""}, "required"),
    "grams of a liquid": ({"product_unit": "g"}, "measures this product by volume"),
    "an unknown unit": ({"product_unit": "bucket"}, "not one of the available choices"),
    "spray in letters": ({"finished_amount": "all"}, "is not a number"),
    "spray without end": ({"finished_amount": "9" * 20}, "more than the most taken here"),
    "the end before the start": ({"started": "09:54", "finished": "09:30"}, "before started"),
    "an end in the future": ({"finished": "17:00"}, "ends in the future"),
    "no time": ({"started": "soon"}, "valid time"),
    "wind in letters": ({"wind_mph": "gusty"}, "Enter a number"),
    "wind of a storm": ({"wind_mph": "1000"}, "less than or equal to 150"),
    "no reference": ({"client_ref": "7"}, "has lost its number"),
    "an ending nobody offers": ({"ending": "vanish"}, "not one of the available choices"),
    "notes without end": ({"notes": "a" * 1001}, "1000"),
}


def shown(page: str, name: str) -> str:
    """What stands in a field of the page."""
    field = re.search(rf'<input[^>]*name="{name}"[^>]*>', page)
    value = re.search(r'value="([^"]*)"', field[0]) if field else None
    return value[1] if value else ""


@pytest.mark.parametrize(("typed", "sentence"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_true_is_refused_with_a_sentence(
    stop: Stop, typed: dict[str, str], sentence: str
) -> None:
    before = everything()
    answer = stop.send(**typed)
    page = answer.content.decode().replace("\xa0", " ")
    assert answer.status_code == 422
    assert sentence in page
    for name in ("product_amount", "finished_amount", "started", "finished", "equipment"):
        assert shown(page, name) == (TYPED | typed)[name]
    assert (TYPED | typed)["notes"] in page
    assert everything() == before


def test_somebody_elses_stop_is_not_found(stop: Stop, other_technician: Person) -> None:
    before, other = everything(), client_for(other_technician)
    for name in ("", "mix/", f"record/{stop.choice}"):
        assert other.get(f"{stop.path}{name}").status_code == 404
    assert stop.send(client=other).status_code == 404
    assert other.post(f"{stop.path}start/").status_code == 404
    refusal = other.post(f"{stop.path}not-done/", {"reason": "locked", "note": ""})
    assert refusal.status_code == 404
    assert everything() == before


def test_the_office_has_no_stops(stop: Stop, office: Person) -> None:
    before = everything()
    assert stop.send(client=client_for(office)).status_code == 403
    assert client_for(office).get("/today/").status_code == 403
    assert everything() == before


def test_a_zone_of_another_property_is_refused(stop: Stop) -> None:
    elsewhere = make_zone(make_property(make_customer(stop.visit.property.branch)))
    before = everything()
    answer = stop.send(f"?zone={elsewhere.pk}&use={stop.use.pk}")
    assert answer.status_code == 422
    assert "Not saved." in answer.content.decode()
    assert everything() == before


@pytest.mark.parametrize(
    "choice",
    [
        "?zone=x&use=y",
        "?zone=99999999999999999999&use=1",
        "?use=99999999999999999999&zone=1",
        "?zone=1&use=" + "9" * 5000,
        "?zone=%00&tank=%00",
        "?zone=0&use=1&pest=99999999999999999999&method=none",
    ],
)
def test_an_address_of_nonsense_is_a_page_and_stores_nothing(stop: Stop, choice: str) -> None:
    before = everything()
    assert stop.mix(choice).status_code == 200
    assert stop.send(choice).status_code in (302, 422)
    assert everything() == before


@pytest.mark.parametrize("tank", ["", "big", "-1", "0", "1e3", "1000000000000"])
def test_a_tank_that_is_none_is_said_on_the_page(stop: Stop, tank: str) -> None:
    answer = stop.mix(f"?zone={stop.zone.pk}&use={stop.use.pk}&tank={tank}")
    assert answer.status_code == 200
    assert "Not worked out." in answer.content.decode()


def test_a_record_after_the_end_of_the_stop_is_refused(stop: Stop) -> None:
    stop.visit.state = VisitState.DONE
    stop.visit.save()
    before = everything()
    for ending in ("finish", "another"):
        answer = stop.send(ending=ending)
        assert answer.status_code == 422
        assert "This visit is done" in answer.content.decode() or "over" in answer.content.decode()
    assert everything() == before
