"""Properties and access: entering, changing, finding."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.http import Http404
from pytest_django import DjangoAssertNumQueries

from accounts.models import AuditEvent, Branch, Person
from sites.models import Property
from sites.rules.entries import NewProperty
from sites.selectors.properties import access_of, matches, properties_for, property_for
from sites.services.properties import add_properties, add_property, edit_property, set_access
from tests.factories import make_customer, make_property
from tests.refusing import refused


@pytest.fixture
def place(office: Person) -> NewProperty:
    """An address of a customer, not yet stored."""
    customer = make_customer(office.branch, "Nadia Castellane")
    return NewProperty(
        office.branch_id, customer.pk, "14 Heron Lane", "Pellbrook", "oh", "43085", "Franklin"
    )


def test_added_and_changed(place: NewProperty, office: Person) -> None:
    made = add_property(place=place, by=office)
    assert (made.state, made.address_key) == ("OH", "14 HERON LN|PELLBROOK|OH|43085")
    other = make_customer(office.branch)
    moved = replace(place, street="16 Heron Lane", customer_id=other.pk)
    changed = edit_property(property_id=made.pk, place=moved, by=office)
    changed.refresh_from_db()
    assert changed.address == "16 Heron Lane, Pellbrook, OH 43085"
    assert changed.customer_id == place.customer_id
    assert changed.address_key.startswith("16 HERON LN")


@pytest.mark.parametrize(
    ("fields", "code", "field"),
    [
        ({"street": ""}, "missing", "street"),
        ({"city": " "}, "missing", "city"),
        ({"state": "XX"}, "state", "state"),
        ({"zip_code": "430"}, "zip", "zip_code"),
        ({"zip_code": "430851234"}, "zip", "zip_code"),
        ({"latitude": Decimal(91), "longitude": Decimal(0)}, "place", "latitude"),
        ({"latitude": Decimal(40)}, "place", "longitude"),
        ({"street": "x" * 201}, "long", "street"),
    ],
)
def test_bad_input(
    place: NewProperty, office: Person, fields: dict[str, Any], code: str, field: str
) -> None:
    with refused(code, field):
        add_property(place=replace(place, **fields), by=office)
    with refused(code, field):
        add_properties([place, replace(place, **fields)], by=office)
    assert not Property.objects.exists()


def test_one_address_once_a_customer(place: NewProperty, office: Person) -> None:
    first = add_property(place=place, by=office)
    again = replace(place, street="14 heron ln.", zip_code="43085-1234")
    with refused("property_exists", "street"):
        add_property(place=again, by=office)
    with refused("property_exists", "street"):
        add_properties([again], by=office)
    second = add_property(place=replace(place, street="15 Heron Lane"), by=office)
    with refused("property_exists", "street"):
        edit_property(property_id=second.pk, place=place, by=office)
    neighbor = make_customer(office.branch)
    add_property(place=replace(place, customer_id=neighbor.pk), by=office)
    assert first.pk and Property.objects.count() == 3


def test_many_at_once(
    place: NewProperty, office: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = [replace(place, street=f"{number} Heron Lane") for number in range(300)]
    with django_assert_max_num_queries(20):
        made = add_properties(rows, by=office)
    assert [one.street for one in made] == [row.street for row in rows]
    assert AuditEvent.objects.get(act="properties_added").details == {"count": 300}


def test_access_is_kept_and_never_audited(place: NewProperty, office: Person) -> None:
    made = add_property(place=place, by=office)
    assert access_of(made.pk) is None
    set_access(property_id=made.pk, gate_code="4711#", ask_for="Pat", notes="Dog first", by=office)
    set_access(property_id=made.pk, gate_code="4712#", by=office)
    held = access_of(made.pk)
    assert held is not None and (held.gate_code, held.ask_for) == ("4712#", "Pat")
    # the code with its sign: a clock's microseconds may hold the same digits
    noted = str(list(AuditEvent.objects.values()))
    assert "4711#" not in noted
    assert "4712#" not in noted
    with refused("long", "gate_code"):
        set_access(property_id=made.pk, gate_code="4" * 41, by=office)


def test_out_of_reach(
    place: NewProperty, office: Person, technician: Person, stranger: Person, branch_penn: Branch
) -> None:
    away = make_property(make_customer(branch_penn))
    for person in (technician, stranger):
        with refused("not_permitted"):
            add_property(place=place, by=person)
        with refused("not_permitted"):
            set_access(property_id=away.pk, by=person)
        assert list(properties_for(person)) == []
    with pytest.raises(Http404):
        property_for(office, away.pk)
    with pytest.raises(Http404):
        edit_property(property_id=away.pk, place=place, by=office)
    with pytest.raises(Http404):
        add_properties([replace(place, customer_id=away.customer_id)], by=office)
    with pytest.raises(Http404):
        add_property(place=replace(place, branch_id=branch_penn.pk), by=office)


@pytest.mark.parametrize("text", ["heron", "14 HERON pellbrook", "43085", "pellbrook, 430"])
def test_found(text: str, place: NewProperty, office: Person) -> None:
    made = add_property(place=place, by=office)
    make_property(make_customer(office.branch), "9 Other Road", city="Erie", zip_code="16501")
    rows = matches(text, office)
    assert [(row.label, row.detail, row.url, row.kind) for row in rows] == [
        ("14 Heron Lane, Pellbrook", "Nadia Castellane", made.get_absolute_url(), "Property")
    ]


@pytest.mark.parametrize("text", ["h", "heron erie", "3085", "%", ""])
def test_not_found(text: str, place: NewProperty, office: Person, technician: Person) -> None:
    add_property(place=place, by=office)
    assert matches(text, office) == []
    assert matches("heron", technician) == []


def test_twenty_at_most_in_one_query(
    office: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    customer = make_customer(office.branch)
    for number in range(25):
        make_property(customer, f"{number} Heron Lane")
    assert office.roles
    with django_assert_num_queries(1):
        assert len(matches("heron", office)) == 20
