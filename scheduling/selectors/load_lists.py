"""The load list of a day: what each technician's booked stops need and what the truck lacks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import Prefetch

from accounts.selectors.people import branches_for
from scheduling.models import RenewalZone, Visit
from scheduling.models.visits import VisitQuerySet
from sites.rules.units import Amount, display, from_canonical, shelf_unit
from treatments.rules.loading import Take, load_of
from treatments.selectors.loading import Goods, Need, Shelves, needs_by_zone, shelves

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import TreatableZone
    from treatments.models import ResidualWindow, StockPlace


@dataclass(frozen=True)
class LoadLine:
    """One product: needed, aboard, what to take from where, what the store does not have."""

    product: str
    needed: str
    source: str
    aboard: str
    takes: tuple[str, ...]
    missing: str

    @property
    def is_enough(self) -> bool:
        return not self.takes and not self.missing


@dataclass(frozen=True)
class TechnicianLoad:
    """One technician's day: stops, products, and the stops nothing is known of."""

    technician: Person
    vehicle: StockPlace | None
    stops: int
    lines: tuple[LoadLine, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class LoadPage:
    """The load lists of one day."""

    day: date
    loads: tuple[TechnicianLoad, ...]

    @property
    def to_take(self) -> int:
        return sum(bool(line.takes) for load in self.loads for line in load.lines)

    @property
    def missing(self) -> int:
        return sum(bool(line.missing) for load in self.loads for line in load.lines)


def load_page(person: Person, day: date) -> LoadPage:
    """The load lists of every technician with a stop in the person's branches."""
    return _page(Visit.objects.open().filter(property__branch__in=branches_for(person)), day)


def own_load_page(person: Person, day: date) -> LoadPage:
    """The technician's own load list."""
    return _page(Visit.objects.open().filter(technician=person), day)


def _page(visits: VisitQuerySet, day: date) -> LoadPage:
    """A fixed number of queries, however many stops there are."""
    booked = _booked(visits, day)
    needs = needs_by_zone(_lapsing(booked).values(), day)
    by_person: dict[int, list[Visit]] = defaultdict(list)
    for visit in booked:
        by_person[visit.technician_id].append(visit)
    kept = shelves({visit.technician.branch_id for visit in booked}, day)
    loads = [_load(rows[0].technician, rows, needs, kept) for rows in by_person.values()]
    return LoadPage(day, tuple(sorted(loads, key=lambda one: one.technician.full_name)))


def _booked(visits: VisitQuerySet, day: date) -> list[Visit]:
    named = visits.of_day(day).select_related("technician__branch", "property", "renewal")
    use = "window__treated_area__record__label_use"
    zones = RenewalZone.objects.select_related(
        "zone", f"{use}__label_version__product", f"{use}__firm_rate", "window__historic"
    )
    rows = named.prefetch_related(Prefetch("renewal__zones", zones))
    return list(rows.order_by("starts_at", "window_opens_at", "pk"))


Lapsing = dict[int, "tuple[TreatableZone, ResidualWindow]"]


def _lapsing(visits: Collection[Visit]) -> Lapsing:
    """Each zone once, with its latest window: a zone stands there once for each pest group."""
    found: Lapsing = {}
    for visit in visits:
        for row in visit.renewal.zones.all() if visit.renewal else ():
            known = found.get(row.zone_id)
            if known is None or known[1].applied_on < row.window.applied_on:
                found[row.zone_id] = (row.zone, row.window)
    return found


def _load(
    technician: Person, visits: Sequence[Visit], needs: dict[int, Need | None], kept: Shelves
) -> TechnicianLoad:
    wanted: dict[Goods, list[Need]] = defaultdict(list)
    unknown = []
    for visit in visits:
        of_visit = [needs[zone_id] for zone_id in _zones(visit)]
        for need in of_visit:
            if need is not None:
                wanted[need.goods].append(need)
        if not of_visit or None in of_visit:
            unknown.append(_unknown(visit))
    vehicle = kept.vehicles.get(technician.pk)
    return TechnicianLoad(
        technician=technician,
        vehicle=vehicle,
        stops=len(visits),
        lines=tuple(
            _line(goods, wanted[goods], technician, vehicle, kept) for goods in sorted(wanted)
        ),
        unknown=tuple(unknown),
    )


def _zones(visit: Visit) -> list[int]:
    rows = visit.renewal.zones.all() if visit.renewal else ()
    return sorted({row.zone_id for row in rows})


def _unknown(visit: Visit) -> str:
    why = "some zones" if visit.renewal else "no renewal"
    return f"{visit.property.street}, {visit.get_kind_display().lower()} ({why})"


def _line(
    goods: Goods,
    needs: Sequence[Need],
    technician: Person,
    vehicle: StockPlace | None,
    kept: Shelves,
) -> LoadLine:
    needed = sum(need.quantity for need in needs)
    unit = shelf_unit(needs[0].unit, technician.branch.units)
    aboard = kept.aboard.get((vehicle.pk, goods), 0) if vehicle else 0
    answer = load_of(needed, aboard, kept.stores.get((technician.branch_id, goods), []))
    return LoadLine(
        product=goods[0],
        needed=_shown(needed, unit),
        source=" and ".join(sorted({need.source for need in needs})),
        aboard=_shown(aboard, unit),
        takes=tuple(_take(take, unit) for take in answer.takes),
        missing=_shown(answer.missing, unit) if answer.missing else "",
    )


def _take(take: Take, unit: str) -> str:
    whole = f" ({take.containers} container{'s' if take.containers != 1 else ''})"
    return (
        f"{_shown(take.quantity, unit)}{whole if take.containers else ''} "
        f"of lot {take.number} from {take.place}"
    )


def _shown(quantity: int, unit: str) -> str:
    return display(Amount(from_canonical(quantity, unit), unit))
