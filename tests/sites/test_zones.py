"""Zones: entering, changing, retiring, by services and by the pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.http import Http404
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from accounts.models import AuditEvent, Branch, Person
from sites.models import Property, TreatableZone
from sites.rules.entries import NewZone
from sites.selectors.properties import zone_measure, zones_by_ids, zones_of
from sites.services import zones
from sites.services.pests import register_pest
from sites.services.zones import add_zone, add_zones, edit_zone, retire_zone
from tests.factories import client_for, make_customer, make_property, make_zone
from tests.refusing import refused

TYPED = {
    "name": "Foundation band",
    "place": "foundation_wall",
    "geometry": "band",
    "length_unit": "ft",
    "wall_run": "180",
    "height_up": "3",
    "width_out": "3",
    "corners": "simple",
    "surface": "painted",
    "exposure": "sun",
}


@pytest.fixture
def place(office: Person) -> Property:
    """A property of the office's branch."""
    return make_property(make_customer(office.branch), "14 Heron Lane")


@pytest.fixture
def zone(place: Property) -> NewZone:
    """A band, not yet stored."""
    return NewZone(place.pk, "Foundation band", "foundation_wall", "180", "3", "3")


def test_added_and_measured(zone: NewZone, office: Person) -> None:
    made = TreatableZone.objects.get(pk=add_zone(zone=zone, by=office).pk)
    assert zone_measure(made).sentence == "180 ft × (3 up + 3 out) = 1,080 sq ft"
    assert made.area_mm2 == 100_335_283  # 1,080 × 92,903.04
    assert AuditEvent.objects.get(act="zone_added").person_name == office.full_name


def test_changed_and_retired(zone: NewZone, office: Person) -> None:
    made = add_zone(zone=zone, by=office)
    edit_zone(
        zone_id=made.pk, zone=replace(zone, wall_run="22", height_up="0", width_out=""), by=office
    )
    made.refresh_from_db()
    assert (made.geometry, made.area_mm2) == ("linear", 0)
    retire_zone(zone_id=made.pk, today=date(2026, 11, 25), by=office)
    assert list(zones_of(made.property_id)) == [] and list(zones_by_ids([made.pk])) == [made]
    with refused("retired"):
        retire_zone(zone_id=made.pk, today=date(2026, 11, 26), by=office)


def test_a_change_begun_before_a_retirement_does_not_undo_it(
    zone: NewZone, office: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The zone is retired after the change read it and before the change took its turn."""
    made = add_zone(zone=zone, by=office)

    def retired_meanwhile(property_id: int) -> None:
        TreatableZone.objects.filter(pk=made.pk).update(retired_on=date(2026, 11, 25))

    monkeypatch.setattr(zones, "lock_property", retired_meanwhile)
    with pytest.raises(Http404):
        edit_zone(zone_id=made.pk, zone=replace(zone, wall_run="22"), by=office)


def test_a_retired_zone_is_not_changed(zone: NewZone, office: Person) -> None:
    made = add_zone(zone=zone, by=office)
    retire_zone(zone_id=made.pk, today=date(2026, 11, 25), by=office)
    with pytest.raises(Http404):
        edit_zone(zone_id=made.pk, zone=replace(zone, wall_run="22"), by=office)
    page = reverse("zone_edit", args=[made.pk])
    assert client_for(office).get(page).status_code == 404
    assert client_for(office).post(page, TYPED).status_code == 404


@pytest.mark.parametrize(
    ("fields", "code", "field"),
    [
        ({"name": ""}, "missing", "name"),
        ({"place": "roof"}, "choice", "place"),
        ({"surface": "gold"}, "choice", "surface"),
        ({"exposure": "moon"}, "choice", "exposure"),
        ({"length_unit": "yd"}, "choice", "length_unit"),
        ({"wall_run": "-1"}, "amount", "wall_run"),
    ],
)
def test_bad_input(
    zone: NewZone, office: Person, fields: dict[str, Any], code: str, field: str
) -> None:
    with refused(code, field):
        add_zone(zone=replace(zone, **fields), by=office)
    with refused(code, field):
        add_zones(
            [zone, replace(zone, name="B", **{k: v for k, v in fields.items() if k != "name"})]
            if "name" not in fields
            else [zone, replace(zone, **fields)],
            by=office,
        )
    assert not TreatableZone.objects.exists()


def test_one_name_once_a_property(zone: NewZone, office: Person) -> None:
    add_zone(zone=zone, by=office)
    with refused("zone_exists", "name"):
        add_zone(zone=zone, by=office)
    with refused("zone_exists", "name"):
        add_zones([replace(zone, name="Other"), zone], by=office)
    second = add_zone(zone=replace(zone, name="Soil band"), by=office)
    with refused("zone_exists", "name"):
        edit_zone(zone_id=second.pk, zone=zone, by=office)
    assert TreatableZone.objects.count() == 2


def test_many_at_once(
    zone: NewZone, office: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = [replace(zone, name=f"Zone {number}") for number in range(200)]
    with django_assert_max_num_queries(20):
        made = add_zones(rows, by=office)
    assert [one.name for one in made] == [row.name for row in rows]
    assert AuditEvent.objects.get().details == {"count": 200}


def test_out_of_reach(
    zone: NewZone, office: Person, technician: Person, stranger: Person, branch_penn: Branch
) -> None:
    away = make_zone(make_property(make_customer(branch_penn)))
    for person in (technician, stranger):
        with refused("not_permitted"):
            add_zone(zone=zone, by=person)
    with pytest.raises(Http404):
        add_zones([zone, replace(zone, property_id=away.property_id)], by=office)
    with pytest.raises(Http404):
        edit_zone(zone_id=away.pk, zone=zone, by=office)
    for name, key in (("zone_edit", away.pk), ("zone_add", away.property_id)):
        assert client_for(office).get(reverse(name, args=[key])).status_code == 404
        assert client_for(technician).get(reverse(name, args=[key])).status_code == 403


def test_added_and_changed_by_the_page(place: Property, office: Person) -> None:
    client = client_for(office)
    answer = client.post(reverse("zone_add", args=[place.pk]), TYPED)
    assert answer["Location"] == place.get_absolute_url()
    made = TreatableZone.objects.get()
    page = client.get(reverse("zone_edit", args=[made.pk])).content.decode()
    assert "1,080 sq ft" in page and 'value="180"' in page
    client.post(reverse("zone_edit", args=[made.pk]), TYPED | {"wall_run": "200"})
    made.refresh_from_db()
    assert made.wall_run == "200" and made.property == place
    assert client.post(reverse("zone_retire", args=[made.pk])).status_code == 302
    made.refresh_from_db()
    assert made.retired_on is not None


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("wall_run", "abc", "is not a number"),
        ("wall_run", "-180", "below zero"),
        ("wall_run", "1000000000000", "more than the most"),
        ("height_up", "3,5", "has a comma"),
        ("width_out", "1e3", "is not a number"),
    ],
)
def test_a_slip_stands_at_its_field_with_what_was_typed(
    field: str, typed: str, sentence: str, place: Property, office: Person
) -> None:
    answer = client_for(office).post(reverse("zone_add", args=[place.pk]), TYPED | {field: typed})
    assert answer.status_code == 422
    assert sentence in answer.context["form"].errors[field][0]
    page = answer.content.decode()
    assert f'value="{typed}"' in page and 'value="Foundation band"' in page
    assert not TreatableZone.objects.exists()


def test_pests(manager: Person, office: Person) -> None:
    register_pest(common_name="Pavement ant", group="ants", by=manager)
    with refused("pest_exists", "common_name"):
        register_pest(common_name="Pavement ant", group="ants", by=manager)
    with refused("choice", "group"):
        register_pest(common_name="Moth", group="moths", by=manager)
    with refused("not_permitted"):
        register_pest(common_name="Moth", group="other", by=office)
