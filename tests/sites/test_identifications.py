"""Recording what was identified: kept whole, once, with its evidence, at one's own property."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from django.db import IntegrityError
from django.http import Http404

from accounts.models import Branch, OpenItem, Person
from accounts.refusals import Refused
from sites.models import Identification, Photo, Property, TreatableZone
from sites.rules.identification.entries import NewIdentification
from sites.services.identification_key import load_key
from sites.services.identifications import (
    WOOD_CODE,
    identify_at_property,
    record_identification,
)
from tests.factories import client_for, make_customer, make_property, make_zone
from tests.inspection_cases import upload
from tests.refusing import refused

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
SHIELD = ("shape.shield", "antennae.banded", "behind.unknown", "legs.six")


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    load_key()
    return make_property(make_customer(branch_ohio), "14 Heron Lane")


@pytest.fixture
def zone(place: Property) -> TreatableZone:
    return make_zone(place, "South wall")


@pytest.fixture
def bug(zone: TreatableZone) -> NewIdentification:
    return NewIdentification(
        client_ref=uuid.uuid4(),
        answers=SHIELD,
        taxon="HALHA",
        confidence="certain",
        zone_id=zone.pk,
        found_where="South bedroom window",
    )


def keep(place: Property, new: NewIdentification, by: Person) -> Identification:
    return identify_at_property(property_id=place.pk, identification=new, by=by, now=NOW)


def test_evidence_is_kept_whole(place: Property, bug: NewIdentification, office: Person) -> None:
    row = keep(place, bug, office)
    assert (row.name, row.confidence, row.by, row.at) == (
        "Brown marmorated stink bug",
        "certain",
        office,
        NOW,
    )
    assert (row.property, row.zone_id, row.photo_ref) == (place, bug.zone_id, "")
    assert row.seen == [
        {"trait": "legs", "name": "Legs", "values": ["Six legs"]},
        {"trait": "shape", "name": "Shape", "values": ["Shield"]},
        {"trait": "antennae", "name": "Antennae", "values": ["White bands on them"]},
        {"trait": "behind", "name": "Behind the head", "values": []},
    ]
    best = row.ranking[0]
    assert (best["code"], best["for"]) == (
        "HALHA",
        ["Six legs", "Shield", "White bands on them"],
    )
    assert row.ranking[1]["against"] and not row.ranking[1]["excluded"]
    page = client_for(office).get(row.get_absolute_url()).content.decode()
    for words in ("South bedroom window", "White bands on them", office.full_name):
        assert words in page
    assert (
        "Brown marmorated stink bug"
        in client_for(office).get(place.get_absolute_url()).content.decode()
    )


def test_photos_are_evidence_kept_once_and_shown(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    files = [upload(), upload(b"II*\x00 no reader knows this", name="raw.tif")]
    row = identify_at_property(
        property_id=place.pk, identification=bug, photos=files, by=office, now=NOW
    )
    shown, sealed = Photo.objects.order_by("pk")
    assert row.photo_ref == f"{shown.pk} {sealed.pk}"
    assert (shown.is_sealed, sealed.is_sealed) == (False, True)
    assert (shown.created_by, shown.finding, shown.property) == (office, None, place)
    page = client_for(office).get(row.get_absolute_url()).content.decode()
    assert f'<img src="{shown.get_absolute_url()}"' in page
    assert f'src="{sealed.get_absolute_url()}"' not in page
    assert client_for(office).get(shown.get_absolute_url())["Content-Type"] == "image/jpeg"
    again = identify_at_property(
        property_id=place.pk, identification=bug, photos=[upload()], by=office, now=NOW
    )
    assert (again, Photo.objects.count()) == (row, 2)


def test_a_script_named_as_a_photo_keeps_nothing(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    with pytest.raises(Refused) as refusal:
        identify_at_property(
            property_id=place.pk,
            identification=bug,
            photos=[upload(), upload(b"#!/bin/sh\nexit 0\n")],
            by=office,
            now=NOW,
        )
    assert refusal.value.facts["field"] == "photos"
    assert not Photo.objects.exists() and not Identification.objects.exists()


def test_sent_again_it_is_the_first_answer_in_whatever_order(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    first = keep(place, bug, office)
    again = replace(bug, answers=tuple(reversed(bug.answers)))
    assert keep(place, again, office) == first
    assert Identification.objects.count() == 1
    for other in ({"taxon": "BROCH"}, {"note": "Another."}, {"answers": SHIELD[:2]}):
        with refused("reused_reference"):
            keep(place, replace(bug, **other), office)
    with refused("reused_reference"):
        keep(make_property(place.customer, "15 Heron Lane"), bug, office)


def test_it_never_changes(place: Property, bug: NewIdentification, office: Person) -> None:
    row = keep(place, bug, office)
    with pytest.raises(IntegrityError):
        Identification.objects.filter(pk=row.pk).update(confidence="likely")


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"answers": ()}, "no_traits", None),
        ({"answers": ("legs.unknown",)}, "no_traits", None),
        ({"answers": ("legs.nine", "shape.shield")}, "unknown_traits", None),
        ({"answers": ("legs.eight",)}, "excluded", "taxon"),
        ({"answers": ("legs.six", "wings.feathers")}, "excluded", "taxon"),
        ({"taxon": "UNICORN"}, "unknown_taxon", "taxon"),
        ({"confidence": "sure"}, "choice", "confidence"),
        ({"zone_id": 2**40}, "zone", "zone"),
        ({"note": "x" * 401}, "long", "note"),
    ],
)
def test_what_is_no_evidence_is_refused(
    place: Property,
    bug: NewIdentification,
    office: Person,
    change: dict[str, object],
    code: str,
    field: str | None,
) -> None:
    with refused(code, field):
        keep(place, replace(bug, **change), office)  # type: ignore[arg-type]
    assert not Identification.objects.exists()


def test_a_zone_of_another_property_is_refused(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    other = make_zone(make_property(place.customer, "15 Heron Lane"), "North wall")
    with refused("zone", "zone"):
        keep(place, replace(bug, zone_id=other.pk), office)


def test_at_somebody_elses_property_there_is_nothing(
    bug: NewIdentification, branch_penn: Branch, technician: Person, office: Person
) -> None:
    other = make_property(make_customer(branch_penn))
    row = record_identification(
        place=other, identification=replace(bug, zone_id=None), by=office, now=NOW
    )
    client = client_for(technician)
    assert client.get(row.get_absolute_url()).status_code == 404
    assert client.get(f"/properties/{other.pk}/identify/").status_code == 403
    with refused("not_permitted"):
        keep(other, bug, technician)
    with pytest.raises(Http404):
        identify_at_property(property_id=2**40, identification=bug, by=office, now=NOW)


def test_not_settled_is_an_answer_too(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    row = keep(place, replace(bug, taxon="", confidence="unsure"), office)
    assert (row.taxon, str(row), row.advice) == (None, "Not settled", [])
    assert row.ranking[0]["code"] == "HALHA"


def test_a_wood_destroying_finding_waits_for_a_licensed_firm(
    place: Property, bug: NewIdentification, office: Person
) -> None:
    keep(place, bug, office)
    assert not OpenItem.objects.filter(code=WOOD_CODE).exists()
    termite = replace(
        bug, client_ref=uuid.uuid4(), taxon="TERSW", answers=("antennae.beaded", "waist.broad")
    )
    row = keep(place, termite, office)
    item = OpenItem.objects.get(code=WOOD_CODE)
    assert "not a wood-destroying insect or organism inspection or report" in item.sentence
    assert "Refer to a firm licensed in that category." in item.sentence
    page = client_for(office).get("/attention/").content.decode()
    assert row.get_absolute_url() in page and "Wood-destroying finding" in page


def test_the_form_keeps_what_was_typed_when_it_is_refused(place: Property, office: Person) -> None:
    client = client_for(office)
    typed = {"client_ref": str(uuid.uuid4()), "taxon": "LYCOS", "confidence": "likely"}
    typed |= {"note": "Ran under the door."}
    url = f"/properties/{place.pk}/identify/record/?seen=legs.six"
    answer = client.post(url, typed)
    assert answer.status_code == 422
    assert "ruled out by the legs" in str(answer.context["form"].errors["taxon"])
    assert "Ran under the door." in answer.content.decode()
    none = client.post(url.partition("?")[0], typed)
    assert none.status_code == 422 and "No trait was seen" in none.content.decode()


def test_the_key_page_takes_a_fixed_number_of_queries(
    place: Property, office: Person, django_assert_max_num_queries: object
) -> None:
    client = client_for(office)
    client.get("/identify/")
    for query in ("", "?seen=legs.six", "?seen=shape.shield&seen=antennae.banded"):
        with django_assert_max_num_queries(14):  # type: ignore[operator]
            client.get(f"/properties/{place.pk}/identify/{query}")
