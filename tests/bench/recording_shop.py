"""A branch whose technicians have many properties each, to record at without standing still."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TypeVar

from accounts.models import Branch
from accounts.permissions import Role
from sites.models import Property, TreatableZone
from tests.bench.check_mix import Field, field
from tests.factories import make_license, make_lot, make_person
from treatments.models import StockMove, StockPlace
from treatments.rules.applications import Application, Entered, TreatedZone

ZONES, DIRECTIONS = 3, 40
FIRST = datetime(2026, 3, 1, 17, tzinfo=UTC)
APART, LAPS = timedelta(days=8), 32  # a day more than the label's interval, until November
CASE_UL = 10**12
Row = TypeVar("Row", Property, TreatableZone)


@dataclass(frozen=True)
class Writer:
    """One technician with license, vehicle and lot, and the zones of each of their properties."""

    person_id: int
    use_id: int
    pest_id: int
    places: tuple[tuple[int, tuple[int, ...]], ...]

    def application(self, number: int) -> Application:
        """Their piece of work of that number: every property in turn, eight days to the next."""
        lap, turn = divmod(number, len(self.places))
        property_id, zone_ids = self.places[turn]
        began = FIRST + APART * min(lap, LAPS)
        return Application(
            client_ref=uuid.uuid4(),
            property_id=property_id,
            applicator_id=self.person_id,
            zones=tuple(TreatedZone(pk) for pk in zone_ids),
            method="perimeter_band",
            started_at=began,
            finished_at=began + timedelta(minutes=24),
            label_use_id=self.use_id,
            pest_ids=(self.pest_id,),
            product_amount=Entered("1.3", "fl_oz"),
            finished_amount=Entered("1.8", "gal"),
            protective_equipment_confirmed=True,
        )


@dataclass(frozen=True)
class Shop:
    """The branch and who writes in it."""

    branch: Branch
    writers: tuple[Writer, ...]


def shop(writers: int, houses: int) -> Shop:
    """Build `writers` technicians with `houses` properties of three zones each."""
    first = field(zones=ZONES, directions=DIRECTIONS, years=0)
    return Shop(first.place.branch, tuple(_writer(first, houses) for _ in range(writers)))


def _writer(first: Field, houses: int) -> Writer:
    branch = first.place.branch
    person = make_person([Role.TECHNICIAN], branch)
    make_license(person)
    truck = StockPlace.objects.create(
        branch=branch, kind="vehicle", name=f"Truck {person.pk}", technician=person
    )
    StockMove.objects.create(
        kind="receive", lot=make_lot(first.use, branch=branch), to_place=truck, at=FIRST,
        amount="1", unit="fl_oz", ul=CASE_UL,
    )  # fmt: skip
    pest = first.use.pests.order_by("pk")[0]
    return Writer(person.pk, first.use.pk, pest.pk, _places(first, houses))


def _places(first: Field, houses: int) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Copies of the first property and of its zones."""
    made = Property.objects.bulk_create(
        _copy(first.place, address_key=uuid.uuid4().hex) for _ in range(houses)
    )
    zones = TreatableZone.objects.bulk_create(
        _copy(zone, property_id=place.pk) for place in made for zone in first.zones
    )
    keys = [zone.pk for zone in zones]
    return tuple(
        (place.pk, tuple(keys[ZONES * at : ZONES * (at + 1)])) for at, place in enumerate(made)
    )


def _copy(row: Row, **changes: object) -> Row:
    values = {one.attname: getattr(row, one.attname) for one in row._meta.concrete_fields}
    return type(row)(**values | {"id": None} | changes)
