"""What to do about a small last load: the tanks of the branch and the next stops of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import F

from scheduling.models import Visit
from scheduling.models.visits import OPEN_STATES
from sites.rules.units import Amount, display
from treatments.rules.last_load import LastLoad, NextStop, Tank, is_small, ways
from treatments.rules.loads import hours_of
from treatments.selectors.equipment import equipment_of_branch
from treatments.selectors.load_places import gallons_taken
from treatments.selectors.loads import hours_to_use

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.selectors.mix_pages import MixPage
    from sites.models import TreatableZone
    from treatments.models import LabelUse
    from treatments.rules.mixing import MixPlan


@dataclass(frozen=True)
class WayRow:
    """One way in words, and the product that goes into its load, rounded down."""

    words: str
    product: str


def ways_to_mix(person: Person, page: MixPage, today: date) -> tuple[WayRow, ...]:
    """The ways to avoid the small last load of a mix, the best first; mostly there is none."""
    tank = _tank(page)
    if page.use is None or page.plan is None or tank is None:
        return ()
    rows = equipment_of_branch(person.branch_id)
    tanks = [Tank(row.equipment.name, row.equipment.tank_gal) for row in rows]
    stops = _next_stops(person, page, page.use, today)
    found = ways(page.plan.finished_gal, tank, tanks, stops)
    return tuple(WayRow(way.words, _product(way, page.plan)) for way in found)


def _tank(page: MixPage) -> Decimal | None:
    """Gallons of the chosen tank when the last load in it is small."""
    if page.plan is None or not page.plan.loads:
        return None
    tank = page.sprayer.tank_gal if page.sprayer else page.choice.tank_gal
    return tank if is_small(page.plan.finished_gal, tank) else None


def _product(way: LastLoad, plan: MixPlan) -> str:
    share = plan.product.value * way.gallons / plan.finished_gal
    return display(Amount(share, plan.product.unit), 2, round_down=True)


def _next_stops(person: Person, page: MixPage, use: LabelUse, today: date) -> tuple[NextStop, ...]:
    """The stops after this one in the order of the plan, with what each could take."""
    rows = (
        Visit.objects.filter(technician=person, day=today)
        .select_related("property__customer")
        .prefetch_related("renewal__zones__zone", "property__zones")
        .order_by(F("starts_at").asc(nulls_last=True), "window_opens_at", "pk")
    )
    order = list(rows)
    here = next((n for n, visit in enumerate(order) if visit.pk == page.visit_pk), len(order))
    later = [visit for visit in order[here + 1 :] if visit.state in OPEN_STATES]
    hours = hours_to_use(use.label_version_id, use.pk)
    limit = hours_of(hours) if hours is not None else None
    return tuple(_next_stop(visit, order[here], page, use, limit) for visit in later)


def _next_stop(
    visit: Visit, here: Visit, page: MixPage, use: LabelUse, limit: timedelta | None
) -> NextStop:
    takes = gallons_taken(
        use,
        _zones(visit),
        method=page.choice.method,
        pest_ids=page.choice.pest_ids,
        state=visit.property.state,
        on=visit.day,
    )
    in_time = limit is None or _begins(visit) - _begins(here) <= limit
    return NextStop(visit.property.customer.name, bool(takes) and in_time, takes)


def _begins(visit: Visit) -> datetime:
    """When a stop is planned, else when its promised window opens."""
    return visit.starts_at or visit.window_opens_at


def _zones(visit: Visit) -> list[TreatableZone]:
    """What is due there, else every zone that is still treated."""
    if visit.renewal is not None:
        return [line.zone for line in visit.renewal.zones.all()]
    return [zone for zone in visit.property.zones.all() if zone.retired_on is None]
