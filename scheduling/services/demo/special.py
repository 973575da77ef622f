"""What the demonstration shows on purpose: wall runs, a tank of two products, a planted gap."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import uuid5

from scheduling.services.demo.days import NEVER_TYPED_TWICE, direction_of
from sites.rules.entries import NewZone
from sites.rules.places import Place
from sites.selectors.outlines import walls_of
from sites.services.zones import edit_zone
from treatments.rules.applications import Entered
from treatments.rules.load_entries import AlsoMixed, Mixing
from treatments.selectors.labels import directions_in_force
from treatments.services.loads import mix_load

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.models import Visit
    from sites.models import TreatableZone
    from treatments.models import Load

LEFT_OUT = "porch front"
SECOND = "Demonstration E SC"


def name_the_walls(*, visit: Visit, by: Person) -> str:
    """Give the foundation band of a stop the walls of its house as runs."""
    renewal = visit.renewal
    rows = renewal.zones.select_related("zone") if renewal else []
    zone = next(one.zone for one in rows if one.zone.place == Place.FOUNDATION_WALL)
    runs = "\n".join(f"{one.name} {one.length}" for one in walls_of(visit.property_id))
    edit_zone(zone_id=zone.pk, zone=_as_it_is(zone, runs), by=by)
    return f"{zone} has the runs {', '.join(runs.splitlines())}."


def _as_it_is(zone: TreatableZone, runs: str) -> NewZone:
    return NewZone(
        property_id=zone.property_id,
        name=zone.name,
        place=zone.place,
        wall_run=str(zone.wall_run),
        height_up=str(zone.height_up),
        width_out=str(zone.width_out),
        geometry=zone.geometry,
        corners=zone.corners,
        length_unit=zone.length_unit,
        surface=zone.surface,
        exposure=zone.exposure,
        is_rain_protected=zone.is_rain_protected,
        is_over_impervious=zone.is_over_impervious,
        runs=runs,
    )


def mix_two(*, stop: Visit, now: datetime) -> Load:
    """A gallon of two products for foundation walls, each 5 % under its label's rate."""
    technician = stop.technician
    second = next(
        use
        for use in directions_in_force(stop.day)
        if use.label_version.product.name == SECOND and Place.FOUNDATION_WALL in use.places
    )
    mixing = Mixing(
        client_ref=uuid5(NEVER_TYPED_TWICE, f"two in the tank of {technician.pk} on {stop.day}"),
        label_use_id=direction_of(Place.FOUNDATION_WALL, stop.day).pk,
        product=Entered("0.95", "fl_oz"),
        finished=Entered("1", "gal"),
        mixed_at=now,
        visit_ref=str(stop.ref),
        equipment="1-gal hand can, fan nozzle",
        also=AlsoMixed(second.pk, Entered("0.76", "fl_oz")),
    )
    return mix_load(mixing=mixing, by=technician, now=now)
