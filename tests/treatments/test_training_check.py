"""Restricted use by a noncertified applicator, from the rows: before mixing and in records."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from accounts.models import Person
from tests.factories import make_license
from tests.papers import make_training
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationJudgement
from treatments.selectors.checks import Preview, preview
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db
ON = NOW.date()


@pytest.fixture
def restricted(house: House, manager: Person) -> House:
    """The product is restricted use, the technician registered, the manager certified."""
    make_license(manager, "OH")
    house.technician.licenses.update(kind="registered_technician", supervisor=manager)
    product = house.use.label_version.product
    product.is_restricted_use = True
    product.save()
    return house


def ask(house: House) -> Preview:
    return preview(
        person=house.technician,
        property_id=house.place.pk,
        zone_ids=[house.band.pk],
        label_use_id=house.use.pk,
        method="perimeter_band",
        pest_ids=[house.pest.pk],
        tank_gal=Decimal(1),
        on=ON,
    )


def severity(house: House) -> str:
    (found,) = [one.severity for one in ask(house).judgements if one.code == "training"]
    return str(found)


@pytest.mark.parametrize(
    ("met_on", "said"),
    [
        (None, "refuse"),  # 171.201(e), read
        (ON, "note"),
        (ON - timedelta(400), "warn"),  # twelve months: from memory, unverified
    ],
)
def test_before_mixing(restricted: House, met_on: date | None, said: str) -> None:
    if met_on:
        make_training(restricted.technician, met_on)
    assert severity(restricted) == said
    assert ask(restricted).is_allowed == (said != "refuse")


def test_a_voided_training_does_not_count(restricted: House) -> None:
    row = make_training(restricted.technician, ON)
    make_training(restricted.technician, ON, supersedes=row, reason="Not theirs", is_void=True)
    assert severity(restricted) == "refuse"


def test_without_supervisor_it_fails(restricted: House) -> None:
    make_training(restricted.technician, ON)
    restricted.technician.licenses.update(supervisor=None)
    found = ask(restricted)
    assert not found.is_allowed
    assert {one.code for one in found.judgements if one.severity == "refuse"} == {"restricted"}


def test_afterwards_it_is_a_violation_of_the_record(restricted: House) -> None:
    record = record_application(
        application=restricted.application(), by=restricted.technician, now=NOW
    ).record
    judged = ApplicationJudgement.objects.get(record=record, code="training")
    assert judged.severity == "violation"
    assert judged.clause == "40 CFR 171.201, qualification record"
