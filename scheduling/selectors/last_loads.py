"""What to do about a last load hard to measure: the branch's tanks, the next stops of the day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import F, Prefetch

from accounts.refusals import Refused
from scheduling.models import RenewalZone, Visit
from scheduling.models.visits import OPEN_STATES
from treatments.rules.last_load import LastLoad, NextStop, Tank, is_hard, ways
from treatments.rules.loads import hours_of
from treatments.rules.measures import reading
from treatments.selectors.load_places import gallons_taken
from treatments.selectors.loads import hours_to_use

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.selectors.mix_pages import MixPage
    from sites.models import TreatableZone
    from treatments.models import LabelUse
    from treatments.rules.mixing import MixPlan


@dataclass(frozen=True)
class InTank:
    """One product of the tank: its direction and how much of it is mixed."""

    use: LabelUse
    plan: MixPlan

    @property
    def name(self) -> str:
        return self.use.label_version.product.name


@dataclass(frozen=True)
class WayRow:
    """One way in words, and what of each product goes into its load, on a mark of the measure."""

    words: str
    products: tuple[tuple[str, str], ...]


def ways_to_mix(
    person: Person, page: MixPage, tank: Sequence[InTank], today: date
) -> tuple[WayRow, ...]:
    """The ways to avoid a last load that is hard to measure, the best first; mostly there is none.

    `tank` the products mixed together. Refused where a load is under a mark of a measure and no
    way round it is left.
    """
    found = _ways(person, page, tank, today)
    if not found and any(not one.plan.is_measurable for one in tank):
        raise Refused("measure", _no_way(tank), field="measure")
    system = page.choice.system
    return tuple(WayRow(way.said(system), _products(way, tank)) for way in found)


def _ways(
    person: Person, page: MixPage, tank: Sequence[InTank], today: date
) -> tuple[LastLoad, ...]:
    if not tank or not tank[0].plan.loads:
        return ()
    finished, gallons = tank[0].plan.finished_gal, _gallons(page)
    least = max(one.plan.least_gal for one in tank)
    if not is_hard(finished, gallons, least):
        return ()
    tanks = [Tank(one.name, one.tank_gal) for one in page.found.sprayers.values()]
    return ways(finished, gallons, tanks, _next_stops(person, page, tank, today), least)


def _gallons(page: MixPage) -> Decimal:
    return page.sprayer.tank_gal if page.sprayer else page.choice.tank_gal


def _no_way(tank: Sequence[InTank]) -> str:
    coarse = next(one for one in tank if not one.plan.is_measurable)
    load = next(load for load in coarse.plan.loads if load.is_under_a_mark)
    mark = coarse.plan.measure.one_mark if coarse.plan.measure else ""
    return (
        f"Load {load.number} takes less of {coarse.name} than one mark of this measure, {mark}; "
        "neither equal loads nor a bigger tank of the branch nor a later stop of today helps. "
        "Take a finer measure or another tank."
    )


def _products(way: LastLoad, tank: Sequence[InTank]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (reading(one.plan.measured_in(way.gallons), one.plan.measure), one.name) for one in tank
    )


def _next_stops(
    person: Person, page: MixPage, tank: Sequence[InTank], today: date
) -> tuple[NextStop, ...]:
    """The stops after this one in the order of the plan, with what each could take."""
    rows = (
        Visit.objects.filter(technician=person, day=today)
        .select_related("property__customer", "renewal")
        .prefetch_related(
            Prefetch("renewal__zones", RenewalZone.objects.select_related("zone")),
            "property__zones",
        )
        .order_by(F("starts_at").asc(nulls_last=True), "window_opens_at", "pk")
    )
    order = list(rows)
    here = next((n for n, visit in enumerate(order) if visit.pk == page.visit_pk), len(order))
    later = [visit for visit in order[here + 1 :] if visit.state in OPEN_STATES]
    limit = _time_to_use(tank)
    return tuple(_next_stop(visit, order[here], page, tank, limit) for visit in later)


def _time_to_use(tank: Sequence[InTank]) -> timedelta | None:
    """How long every label of the tank allows the mixed load to be used."""
    hours = [hours_to_use(one.use) for one in tank]
    return min((hours_of(one) for one in hours if one is not None), default=None)


def _next_stop(
    visit: Visit, here: Visit, page: MixPage, tank: Sequence[InTank], limit: timedelta | None
) -> NextStop:
    """A stop that takes of the spray what every label of the tank allows there."""
    takes = min(_takes(visit, page, one.use) for one in tank)
    in_time = limit is None or _begins(visit) - _begins(here) <= limit
    return NextStop(visit.property.customer.name, bool(takes) and in_time, takes)


def _takes(visit: Visit, page: MixPage, use: LabelUse) -> Decimal:
    return gallons_taken(
        use,
        _zones(visit),
        method=page.choice.method,
        pest_ids=page.choice.pest_ids,
        state=visit.property.state,
        on=visit.day,
        measured=page.sprayer.gal_per_1000 if page.sprayer else None,
    )


def _begins(visit: Visit) -> datetime:
    """When a stop is planned, else when its promised window opens."""
    return visit.starts_at or visit.window_opens_at


def _zones(visit: Visit) -> list[TreatableZone]:
    """What is due there, else every zone that is still treated."""
    if visit.renewal is not None:
        return [line.zone for line in visit.renewal.zones.all()]
    return [zone for zone in visit.property.zones.all() if zone.retired_on is None]
