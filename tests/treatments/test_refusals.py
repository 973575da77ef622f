"""What can only be a slip of the pen is refused with a sentence, and nothing is stored."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from sites.rules.places import Geometry, Place
from tests.factories import make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LogEntry, RecordPersonalValue
from treatments.rules.applications import Entered, TreatedZone, Weather
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NAIVE = datetime(2026, 11, 25, 14, 20)


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ({"product_amount": Entered("1.6", "oz_wt")}, "unit", "by volume (fl oz), not in oz (wt)"),
        ({"product_amount": Entered("1.6", "ft")}, "unit", "by volume (fl oz), not in ft"),
        ({"product_amount": Entered("1.6", "bucket")}, "unit", "There is no unit 'bucket'"),
        ({"product_amount": Entered("a little", "fl_oz")}, "amount", "is not a number"),
        ({"product_amount": Entered("-1", "fl_oz")}, "amount", "below zero"),
        ({"product_amount": Entered("1,6", "fl_oz")}, "amount", "has a comma"),
        ({"product_amount": Entered("1e3", "fl_oz")}, "amount", "is not a number"),
        ({"product_amount": Entered("1000000000000", "fl_oz")}, "amount", "more than the most"),
        ({"product_amount": Entered("1.1234567", "fl_oz")}, "amount", "too many decimals"),
        ({"product_amount": Entered("0" * 30 + "1", "fl_oz")}, "amount", "too long"),
        ({"product_amount": Entered("\u0661", "fl_oz")}, "amount", "is not a number"),
        ({"finished_amount": Entered("1.6", "lb")}, "unit", "Finished spray is a volume"),
        ({"finished_at": NOW - timedelta(hours=2)}, "time", "ends before it starts"),
        ({"finished_at": NOW + timedelta(minutes=6)}, "time", "ends in the future"),
        ({"started_at": NOW - timedelta(hours=30)}, "time", "longer than a day"),
        ({"started_at": NAIVE}, "time", "no time zone"),
        ({"device_skew_s": 10**12}, "time", "years off"),
        ({"zones": ()}, "zones", "No zone was chosen"),
        ({"zones": (TreatedZone(1), TreatedZone(1))}, "zones", "given twice"),
        ({"zones": (TreatedZone(99_999_999),)}, "zones", "not one of this property"),
        ({"label_use_id": 99_999_999}, "direction", "no such direction"),
        ({"pest_ids": (99_999_999,)}, "pests", "does not exist"),
        ({"property_id": 99_999_999}, "property", "no such property"),
        ({"method": "helicopter"}, "method", "The method is missing"),
        ({"label_use_id": None}, "product_missing", "without a product"),
        ({"weather": Weather(wind_mph="strong")}, "weather", "is not a number"),
        ({"weather": Weather(wind_mph="-3")}, "weather", "is not possible"),
        ({"weather": Weather(temperature_f="900")}, "weather", "is not possible"),
        ({"notes": "x" * 4001}, "text", "too long"),
        ({"notes": "a\x00b"}, "text", "cannot be printed"),
        ({"equipment": "\ud800"}, "text", "cannot be printed"),
        ({"visit_ref": "v" * 41}, "text", "too long"),
    ],
)
def test_nonsense_is_refused(house: House, changes: dict[str, Any], code: str, words: str) -> None:
    with pytest.raises(Refused) as refused:
        record_application(application=house.application(**changes), by=house.technician, now=NOW)
    assert refused.value.code == code
    assert words in refused.value.sentence
    assert not ApplicationRecord.objects.exists()
    assert not RecordPersonalValue.objects.exists()
    assert not LogEntry.objects.exists()


def test_a_zone_of_another_property_is_refused(make_house: Callable[..., House]) -> None:
    house, other = make_house(), make_house(street="7 Other Street")
    application = house.application(zones=(TreatedZone(other.band.pk),))
    with pytest.raises(Refused, match="not one of this property"):
        record_application(application=application, by=house.technician, now=NOW)
    assert not ApplicationRecord.objects.exists()


@pytest.mark.parametrize(
    ("geometry", "unit"),
    [
        (Geometry.BAND, "each"),
        (Geometry.LINEAR, "ft2"),
        (Geometry.SURFACE, "gal"),
        (Geometry.VOLUME, "ft2"),
        (Geometry.COUNT, "ft"),
    ],
)
def test_a_size_of_another_kind_is_refused(house: House, geometry: Geometry, unit: str) -> None:
    zone = make_zone(house.place, "Odd one", geometry=geometry, place=Place.ENTRY_POINT)
    application = house.application(zones=(TreatedZone(zone.pk, Entered("3", unit)),))
    with pytest.raises(Refused, match="The size of this zone is"):
        record_application(application=application, by=house.technician, now=NOW)


def test_a_size_of_zero_is_refused(house: House) -> None:
    application = house.application(zones=(TreatedZone(house.band.pk, Entered("0", "ft")),))
    with pytest.raises(Refused, match="Leave the zone out"):
        record_application(application=application, by=house.technician, now=NOW)


def test_nobody_records_for_somebody_else(house: House, other_technician: Person) -> None:
    with pytest.raises(Refused) as refused:
        record_application(application=house.application(), by=other_technician, now=NOW)
    assert refused.value.code == "not_own"


@pytest.mark.parametrize("role", ["office", "manager", "stranger"])
def test_who_holds_no_permission_records_nothing(
    house: House, role: str, request: pytest.FixtureRequest
) -> None:
    person = request.getfixturevalue(role)
    application = house.application(applicator_id=person.pk, client_ref=uuid.uuid4())
    with pytest.raises(Refused) as refused:
        record_application(application=application, by=person, now=NOW)
    assert refused.value.code == "not_permitted"
