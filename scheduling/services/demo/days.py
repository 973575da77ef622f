"""Days of the invented firm: sweep, book, plan, drive, treat, as people would do it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import ROUND_CEILING, Decimal
from typing import TYPE_CHECKING
from uuid import NAMESPACE_URL, UUID, uuid5
from zoneinfo import ZoneInfo

from accounts.refusals import Refused
from scheduling.models import Renewal, Visit
from scheduling.rules.visit_states import VisitState
from scheduling.services.booking import book_visit
from scheduling.services.deciding import ask_from_stop
from scheduling.services.demo.firm import Firm
from scheduling.services.field import record_at_stop, start_stop
from scheduling.services.plan_report import PlanReport
from scheduling.services.planning import plan_day
from scheduling.services.sweep import SweepReport, sweep
from sites.rules.places import Place
from sites.rules.units import plain
from sites.selectors.runs import runs_by_zone
from treatments.rules.applications import Application, Entered, TreatedZone, Weather
from treatments.rules.products import Method
from treatments.rules.wall_runs import LeftOut
from treatments.selectors.checks import Preview, preview
from treatments.selectors.decisions import question_words
from treatments.selectors.labels import directions_in_force

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import TreatableZone
    from treatments.models import LabelUse

PRODUCT_OF_PLACE = {
    Place.FOUNDATION_WALL: "Demonstration A SC",
    Place.EAVE_SOFFIT: "Demonstration A SC",
    Place.ENTRY_POINT: "Demonstration F crevice spray",
    Place.CRACK_CREVICE: "Demonstration B gel",
    Place.SOIL_BAND: "Demonstration D G",
}
WINDOWS = ((time(8), time(12)), (time(10), time(14)), (time(13), time(17)))
CUTS = Decimal("0.01")
NEVER_TYPED_TWICE = uuid5(NAMESPACE_URL, "demonstration")


@dataclass(frozen=True)
class Booked:
    """Visits made of renewals, and the sentences of what was refused."""

    visits: tuple[Visit, ...]
    refusals: tuple[str, ...]


def morning(day: date, firm: Firm) -> datetime:
    """Six o'clock at the first branch."""
    return at(day, time(6), firm)


def at(day: date, clock: time, firm: Firm) -> datetime:
    """A wall clock time at the first branch."""
    zone = ZoneInfo(next(iter(firm.branches.values())).time_zone)
    return datetime.combine(day, clock, zone)


def book_day(*, firm: Firm, day: date, most: int, now: datetime) -> Booked:
    """Book the renewals that lapse first, each with a technician of its branch."""
    visits: list[Visit] = []
    refusals: list[str] = []
    waiting = Renewal.objects.waiting().select_related("property").order_by("lapses_on", "pk")
    for number, renewal in enumerate(waiting[: most * 2]):
        if len(visits) == most:
            break
        try:
            visits.append(_book(firm, renewal, day, number, now))
        except Refused as refused:
            refusals.append(refused.sentence)
    return Booked(tuple(visits), tuple(refusals))


def _book(firm: Firm, renewal: Renewal, day: date, number: int, now: datetime) -> Visit:
    crew = [one for one in firm.technicians if one.branch_id == renewal.property.branch_id]
    opens, closes = WINDOWS[number % len(WINDOWS)]
    return book_visit(
        renewal_id=renewal.pk,
        technician_id=crew[number % len(crew)].pk,
        day=day,
        window_opens=opens,
        window_closes=closes,
        minutes=40,
        by=_office_of(firm, renewal.property.branch_id),
        now=now,
    )


def _office_of(firm: Firm, branch_id: int) -> Person:
    return next(
        person
        for email, person in firm.people.items()
        if email.startswith("office") and person.branch_id == branch_id
    )


def work_day(*, firm: Firm, day: date, most: int, is_swept: bool) -> list[Visit]:
    """One past day from sweep to the last record; every visit of it is treated."""
    eve = at(day - timedelta(days=1), time(15), firm)
    if is_swept:
        sweep(today=day, now=eve)
    booked = book_day(firm=firm, day=day, most=most, now=eve)
    plan_day(day=day, by=None, now=eve)
    for visit in booked.visits:
        treat(firm=firm, visit=visit)
    return list(booked.visits)


def treat(
    *, firm: Firm, visit: Visit, over: Decimal = Decimal(1), without: str = "", gap: bool = False
) -> Visit:
    """Start the stop, treat each zone of its renewal, finish; `over` multiplies the amounts.

    `without` names the wall run that is left out; `gap` forgets the amount of the first product.
    """
    visit.refresh_from_db()
    technician = next(one for one in firm.technicians if one.pk == visit.technician_id)
    started = visit.starts_at or visit.window_opens_at
    start_stop(visit_id=visit.pk, by=technician, now=started)
    jobs = list(_jobs(visit, technician))
    for number, job in enumerate(jobs, start=1):
        begun = started + timedelta(minutes=8 * (number - 1) + 2)
        application = _application(visit, technician, job, begun, over)
        application = replace(
            application, zones=tuple(_zone(part.zone, without) for part in job.parts)
        )
        if gap and number == 1:
            application = replace(application, product_amount=None)
        record_at_stop(
            visit_id=visit.pk,
            application=application,
            finish=number == len(jobs),
            by=technician,
            now=application.finished_at + timedelta(minutes=1),
        )
    visit.refresh_from_db()
    return visit


def _jobs(visit: Visit, technician: Person) -> Iterator[Preview]:
    """One product and direction after the other, the zones of the renewal that it fits."""
    renewal = visit.renewal
    if renewal is None:
        return
    # a zone stands once for each pest group whose window lapses
    rows = renewal.zones.select_related("zone").order_by("zone_id")
    zones = list({row.zone_id: row.zone for row in rows}.values())
    for place in dict.fromkeys(zone.place for zone in zones):
        chosen = [zone for zone in zones if zone.place == place]
        yield _preview(visit, technician, chosen, direction_of(Place(place), visit.day))


def direction_of(place: Place, on: date) -> LabelUse:
    """The direction of the firm's usual product for a place."""
    return next(
        use
        for use in directions_in_force(on)
        if place in use.places and use.label_version.product.name == PRODUCT_OF_PLACE[place]
    )


def _preview(
    visit: Visit, technician: Person, zones: list[TreatableZone], use: LabelUse
) -> Preview:
    return preview(
        person=technician,
        property_id=visit.property_id,
        zone_ids=[zone.pk for zone in zones],
        label_use_id=use.pk,
        method=use.methods[0],
        pest_ids=[pest.pk for pest in use.pests.all()][:2],
        tank_gal=Decimal(1),
        on=visit.day,
    )


def _application(
    visit: Visit, technician: Person, job: Preview, begun: datetime, over: Decimal
) -> Application:
    use = job.direction
    return Application(
        client_ref=_ref(visit, use),
        property_id=visit.property_id,
        applicator_id=technician.pk,
        zones=tuple(TreatedZone(part.zone.pk) for part in job.parts),
        method=use.methods[0],
        label_use_id=use.pk,
        pest_ids=tuple(pest.pk for pest in use.pests.all())[:2],
        product_amount=_entered(job.product.value * over, job.product.unit)
        if job.product
        else None,
        finished_amount=_entered(job.finished.value, "gal") if job.finished else None,
        started_at=begun,
        finished_at=begun + timedelta(minutes=6),
        visit_ref=str(visit.ref),
        equipment="1-gal hand can, fan nozzle",
        weather=Weather("4", "62", "hand meter"),
        protective_equipment_confirmed=True,
    )


def _zone(zone: TreatableZone, without: str) -> TreatedZone:
    """The zone, without its run of that name."""
    runs = runs_by_zone([zone.pk]).get(zone.pk, []) if without else []
    left = tuple((run.pk, LeftOut.LOCKED) for run in runs if run.name == without)
    return TreatedZone(zone.pk, left_out=left)


def _ref(visit: Visit, use: LabelUse) -> UUID:
    return uuid5(NEVER_TYPED_TWICE, f"visit {visit.pk}, direction {use.pk}")


def _entered(value: Decimal, unit: str) -> Entered:
    return Entered(plain(value.quantize(CUTS, ROUND_CEILING)), unit)


def ask_about_cracks(*, visit: Visit, by: Person) -> str:
    """Ask the certified applicator about a method that the label of the band is silent about."""
    use = direction_of(Place.FOUNDATION_WALL, visit.day)
    asked = ask_from_stop(
        visit_id=visit.pk,
        label_use_id=use.pk,
        method=Method.CRACK_CREVICE,
        pest_ids=[pest.pk for pest in use.pests.all()][:1],
        by=by,
    )
    return question_words(asked)


def plan_today(*, firm: Firm, day: date, now: datetime) -> PlanReport:
    """Plan the day of both branches."""
    return plan_day(day=day, by=firm.manager, now=now)


def sweep_today(*, day: date, now: datetime) -> SweepReport:
    """Open what lapses within the lead time."""
    return sweep(today=day, now=now)


def first_stop(*, day: date, technician: Person) -> Visit:
    """The technician's first booked stop of a day."""
    return (
        Visit.objects.filter(technician=technician, day=day, state=VisitState.BOOKED)
        .order_by("starts_at")
        .select_related("property__customer")
        .first()
        or _nothing_booked()
    )


def _nothing_booked() -> Visit:
    raise Refused("demo", "The demonstration day has no stop. Choose another --today.")
