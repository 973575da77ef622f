"""How far water is: only as somebody measured it on the ground."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError
from django.http import Http404

from accounts.models import Branch, Person
from sites.models import Property
from sites.services.water import measure_water
from tests.accounts.pages import ask, errors, send, typed, words
from tests.factories import TODAY, make_branch, make_customer, make_property
from tests.refusing import refused

pytestmark = pytest.mark.django_db
MEASURED = {"distance_ft": "42.5", "measured_by": "Terry Technician", "measured_on": "2026-11-20"}


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    return make_property(make_customer(branch_ohio), "14 Heron Lane")


def test_measured_shown_and_taken_away(office: Person, place: Property) -> None:
    assert "The distance to water is not measured." in words(ask(office, "property", place.pk))
    assert send(office, "property_water", place.pk, **MEASURED).status_code == 302
    said = "42.5 ft away, measured by Terry Technician on Nov 20, 2026."
    assert said in words(ask(office, "property", place.pk))
    page = ask(office, "property_water", place.pk)
    assert typed(page, "distance_ft") == Decimal("42.5")
    send(office, "property_water", place.pk, **MEASURED | {"distance_ft": ""})
    place.refresh_from_db()
    kept = (place.water_distance_ft, place.water_measured_by, place.water_measured_on)
    assert kept == (None, "", None)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"measured_by": ""}, "measured_by"),
        ({"measured_on": ""}, "measured_on"),
        ({"measured_on": "2199-01-01"}, "measured_on"),
        ({"distance_ft": "-1"}, "distance_ft"),
        ({"distance_ft": "10001"}, "distance_ft"),
        ({"distance_ft": "far"}, "distance_ft"),
    ],
)
def test_what_nobody_measured_is_refused_and_stays_on_the_page(
    office: Person, place: Property, change: dict[str, str], field: str
) -> None:
    answer = send(office, "property_water", place.pk, **MEASURED | change)
    assert list(errors(answer)) == [field]
    assert typed(answer, "measured_by") == (MEASURED | change)["measured_by"]
    place.refresh_from_db()
    assert place.water_distance_ft is None


def test_out_of_reach_and_not_permitted(
    office: Person, technician: Person, place: Property
) -> None:
    facts: dict[str, Any] = {
        "distance_ft": Decimal(9),
        "measured_by": "Pat",
        "measured_on": TODAY,
        "today": TODAY,
    }
    with refused("not_permitted"):
        measure_water(property_id=place.pk, by=technician, **facts)
    elsewhere = make_property(make_customer(make_branch(state="PA")))
    with pytest.raises(Http404):
        measure_water(property_id=elsewhere.pk, by=office, **facts)
    with refused("water", "measured_on"):
        tomorrow = facts | {"measured_on": TODAY + timedelta(days=1)}
        measure_water(property_id=place.pk, by=office, **tomorrow)
    with refused("water", "distance_ft"):
        measure_water(property_id=place.pk, by=office, **facts | {"distance_ft": Decimal("NaN")})


def test_the_table_keeps_no_distance_that_nobody_measured(place: Property) -> None:
    with pytest.raises(IntegrityError):
        Property.objects.filter(pk=place.pk).update(water_distance_ft=9)
