"""The house of the tests: 60 by 40 ft, a band 3 ft up and 5 ft out."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import time_machine

from accounts.models import Branch, Person
from accounts.permissions import Role
from sites.models import Pest, Property, TreatableZone
from sites.rules.places import PestGroup
from tests.factories import (
    make_customer,
    make_label,
    make_person,
    make_pest,
    make_product,
    make_property,
    make_zone,
)
from tests.treatments.label_entries import ENTERED, label_of, register
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    LabelUse,
    LabelVersion,
    ProductIngredient,
)
from treatments.rules.applications import Application, Entered, TreatedZone
from treatments.services.labels import enter_label
from treatments.services.recording import record_application

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)  # 3 PM in Ohio


@dataclass(frozen=True)
class House:
    """One house with one band, one direction for use, and who treats it."""

    place: Property
    band: TreatableZone
    use: LabelUse
    pest: Pest
    technician: Person

    def application(self, **changes: Any) -> Application:
        """The use on that house: 1.6 fl oz in 1.6 gal on the whole band, 2:20 to 2:44 PM."""
        start = NOW - timedelta(minutes=40)
        return Application(
            **{
                "client_ref": uuid.uuid4(),
                "property_id": self.place.pk,
                "applicator_id": self.technician.pk,
                "zones": (TreatedZone(self.band.pk),),
                "method": "perimeter_band",
                "started_at": start,
                "finished_at": start + timedelta(minutes=24),
                "label_use_id": self.use.pk,
                "pest_ids": (self.pest.pk,),
                "product_amount": Entered("1.6", "fl_oz"),
                "finished_amount": Entered("1.6", "gal"),
                "protective_equipment_confirmed": True,
            }
            | changes
        )


@pytest.fixture
def make_house(branch_ohio: Branch, technician: Person) -> Callable[..., House]:
    """A function that makes such a house; the product is the same unless given."""
    pest = make_pest("Brown marmorated stink bug", PestGroup.OVERWINTERING)
    product = make_product("Demonstration A SC", registration_number="99999-101")
    ProductIngredient.objects.create(
        product=product,
        ingredient=ActiveIngredient.objects.create(common_name="demothrin"),
        percent_by_weight=Decimal("7.9"),
        pounds_per_gallon=Decimal("0.666667"),
    )
    direction = {"rate_max": Decimal(1), "per_gallon": Decimal(1)}
    use = make_label(product, pests=[pest], use=direction, reentry_minutes=120)

    def house(**fields: Any) -> House:
        customer = make_customer(branch_ohio, "Marta Ellwood")
        place = make_property(customer, **{"street": "118 Sluice Lane"} | fields)
        band = make_zone(place, "Foundation band", run="200", up="3", out="5")
        use_again = LabelUse.objects.select_related("label_version__product").get(pk=use.pk)
        return House(place, band, use_again, pest, technician)

    return house


@pytest.fixture
def house(make_house: Callable[..., House]) -> House:
    """One such house."""
    return make_house()


@pytest.fixture
def three(house: House) -> House:
    """A house with three records, a week and more apart."""
    for days in (20, 10, 0):
        at = NOW - timedelta(days=days)
        application = house.application(
            started_at=at - timedelta(minutes=30), finished_at=at - timedelta(minutes=10)
        )
        record_application(application=application, by=house.technician, now=at)
    return house


@pytest.fixture
def log_files(settings: Any, tmp_path: Path) -> Path:
    """A folder of this test alone for the key of the log and the heads outside."""
    settings.LOG_KEY_FILE = str(tmp_path / "keys" / "log_key.pem")
    settings.LOG_HEADS_DIR = str(tmp_path / "heads")
    return tmp_path


@pytest.fixture
def version(manager: Person) -> LabelVersion:
    """A whole label, entered by the manager at a known time and not verified."""
    with time_machine.travel(ENTERED, tick=False):
        label = label_of(register(manager), make_pest("House ant").pk)
        return enter_label(label=label, by=manager)


@pytest.fixture
def second(branch_ohio: Branch) -> Person:
    """Another manager."""
    return make_person([Role.MANAGER], branch_ohio, "Helen Sorrel")


@pytest.fixture
def record(house: House) -> ApplicationRecord:
    """1.6 fl oz in 1.6 gal, without weather and notes."""
    return record_application(application=house.application(), by=house.technician, now=NOW).record
