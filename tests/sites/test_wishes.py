"""Cautions, preferences, units, access: by services and by the pages."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.http import Http404
from django.urls import reverse

from accounts.models import Branch, Person
from sites.models import Preference, Property, PropertyAccess, SiteCaution, Unit
from sites.selectors.properties import cautions_of, preferences_of, units_of
from sites.services.wishes import (
    add_caution,
    add_preference,
    add_unit,
    edit_unit,
    remove_caution,
    remove_preference,
)
from tests.factories import client_for, make_contact, make_customer, make_property
from tests.refusing import refused

SAID = {"said_by": "Pat Example", "said_on": date(2026, 11, 20)}


@pytest.fixture
def place(office: Person) -> Property:
    """A property of the office's branch."""
    return make_property(make_customer(office.branch), "14 Heron Lane")


def test_cautions_come_and_go(place: Property, office: Person) -> None:
    made = add_caution(property_id=place.pk, kind="dog", note="Back yard", by=office)
    assert list(cautions_of(place.pk)) == [made]
    with refused("choice", "kind"):
        add_caution(property_id=place.pk, kind="dragon", by=office)
    with refused("long", "note"):
        add_caution(property_id=place.pk, kind="dog", note="x" * 201, by=office)
    remove_caution(caution_id=made.pk, by=office)
    assert not SiteCaution.objects.exists()


def test_preferences_come_and_go(place: Property, office: Person) -> None:
    unit = add_unit(property_id=place.pk, number="1A", by=office)
    made = add_preference(
        property_id=place.pk, kind="bait_only", unit_id=unit.pk, by=office, **SAID
    )
    assert made.is_hard and list(preferences_of(place.pk)) == [made]
    remove_preference(preference_id=made.pk, by=office)
    assert not Preference.objects.exists()


@pytest.mark.parametrize(
    ("fields", "code", "field"),
    [
        ({"kind": "nothing"}, "choice", "kind"),
        ({"said_by": ""}, "missing", "said_by"),
        ({"kind": "product_refused"}, "missing", "note"),
        ({"unit_id": 999}, "unit", "unit"),
    ],
)
def test_bad_preferences(
    place: Property, office: Person, fields: dict[str, Any], code: str, field: str
) -> None:
    with refused(code, field):
        add_preference(property_id=place.pk, by=office, **{"kind": "bait_only"} | SAID | fields)


def test_units_and_occupants(place: Property, office: Person) -> None:
    tenant = make_contact(place.customer, role="tenant")
    unit = add_unit(property_id=place.pk, number="1A", occupant_id=tenant.pk, by=office)
    assert [one.occupant for one in units_of(place.pk)] == [tenant]
    edit_unit(unit_id=unit.pk, number="1B", is_occupied=False, by=office)
    unit.refresh_from_db()
    assert (unit.number, unit.is_occupied, unit.occupant) == ("1B", False, None)
    with refused("unit_exists", "number"):
        add_unit(property_id=place.pk, number="1B", by=office)
    other = make_contact(make_customer(office.branch))
    with refused("occupant", "occupant"):
        add_unit(property_id=place.pk, number="2", occupant_id=other.pk, by=office)


def test_out_of_reach(
    place: Property, office: Person, technician: Person, branch_penn: Branch
) -> None:
    away = make_property(make_customer(branch_penn))
    caution = add_caution(property_id=away.pk, kind="dog", by=None)
    with refused("not_permitted"):
        add_caution(property_id=place.pk, kind="dog", by=technician)
    with refused("not_permitted"):
        add_unit(property_id=place.pk, number="1", by=technician)
    for name, key in (
        ("caution_remove", caution.pk),
        ("caution_add", away.pk),
        ("preference_add", away.pk),
        ("unit_add", away.pk),
        ("property_access", away.pk),
        ("property_edit", away.pk),
    ):
        assert client_for(office).get(reverse(name, args=[key])).status_code == 404
        assert client_for(technician).get(reverse(name, args=[key])).status_code == 403
    with pytest.raises(Http404):
        remove_caution(caution_id=caution.pk, by=office)


def test_everything_by_the_pages(place: Property, office: Person) -> None:
    client = client_for(office)

    def post(name: str, key: int, **typed: object) -> int:
        return client.post(reverse(name, args=[key]), typed).status_code

    assert post("caution_add", place.pk, kind="bees", note="Two hives") == 302
    assert post("unit_add", place.pk, number="1A", floor="1", is_occupied="on") == 302
    unit = Unit.objects.get()
    assert post("unit_edit", unit.pk, number="1C") == 302
    assert post(
        "preference_add", place.pk, kind="call_first", said_by="Pat", said_on="2026-11-20",
        unit=unit.pk,
    ) == 302  # fmt: skip
    assert post("property_access", place.pk, gate_code="4711") == 302
    wish, caution = Preference.objects.get(), SiteCaution.objects.get()
    assert (wish.unit, wish.is_hard) == (unit, False)
    assert PropertyAccess.objects.get().gate_code == "4711"
    assert (
        'value="4711"' in client.get(reverse("property_access", args=[place.pk])).content.decode()
    )
    assert post("caution_remove", caution.pk) == 302
    assert post("preference_remove", wish.pk) == 302
    assert not SiteCaution.objects.exists() and not Preference.objects.exists()


def test_a_property_by_the_page(office: Person) -> None:
    client, customer = client_for(office), make_customer(office.branch)
    url = reverse("property_add", args=[customer.pk])
    typed = {
        "street": "14 Heron Lane", "city": "Pellbrook", "state": "OH", "zip_code": "430",
        "branch": office.branch_id,
    }  # fmt: skip
    answer = client.post(url, typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and "not a ZIP code" in page and 'value="430"' in page
    moved = client.post(url, typed | {"zip_code": "43085"})
    assert moved["Location"] == Property.objects.get().get_absolute_url()
    assert client.post(url, typed | {"zip_code": "43085"}).status_code == 422
    assert Property.objects.get().customer == customer
