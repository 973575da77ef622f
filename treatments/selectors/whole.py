"""One application with every row it names: property, zones, direction, pests, license."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet, prefetch_related_objects

from accounts.refusals import Refused
from accounts.selectors.people import license_in_force, licenses_of
from sites.rules.units import Amount, kind_of, plain
from sites.selectors.pests import pests as all_pests
from sites.selectors.properties import zone_measure, zones_by_ids
from sites.selectors.runs import runs_by_zone
from treatments.models import LabelUse, ProductIngredient
from treatments.rules.applications import (
    Application,
    Entered,
    TreatedSize,
    TreatedZone,
    Weather,
    finished_amount,
    product_amount,
    treated_size,
)
from treatments.rules.products import LimitFact, RateBasis
from treatments.rules.rates import IN_SPRAY, Rate
from treatments.rules.treated_parts import part_and_rest
from treatments.rules.wall_runs import RunTold, length_done, runs_told
from treatments.selectors.lots_aboard import LotAboard, lots_aboard
from treatments.selectors.settled import used_direction

if TYPE_CHECKING:
    from accounts.models import ApplicatorLicense, Person
    from sites.models import Pest, Property, TreatableZone, WallRun
    from treatments.models import Product


NOT_MEASURED = Weather()
# of a label in use; what `used_direction` has fetched is not fetched anew
MAY_CHANGE = (
    "pests",
    "label_version__verifications",
    "label_version__withdrawals",
    "label_version__product__ingredients__ingredient",
)
# in which unit the sizes of zones are added up, by what a rate counts
COUNTED_IN = {
    RateBasis.AREA: "ft2",
    RateBasis.LINEAR: "ft",
    RateBasis.COUNT: "each",
    RateBasis.SPACE_VOLUME: "ft3",
}


@dataclass(frozen=True)
class Part:
    """One treated zone and how much of it was treated."""

    zone: TreatableZone
    size: TreatedSize
    runs: tuple[RunTold, ...] = ()


@dataclass(frozen=True)
class Setting:
    """Who treats what with which direction on which day, before and after the fact.

    `answers` are code and answer of the safety questions; `booked` zone and day of visits to come;
    `visit_ref` names the visit it belongs to; `over_at` is when a finished use was over;
    `more_follows` that another load follows at the visit; `is_high_rate` that it is above the
    middle of the direction's rates.
    `supervisor_id` is somebody named before mixing instead of who the license says.
    """

    place: Property
    applicator: Person
    license: ApplicatorLicense | None
    supervisor_license: ApplicatorLicense | None
    parts: tuple[Part, ...]
    use: LabelUse | None
    method: str
    pests: tuple[Pest, ...]
    on: date
    weather: Weather = NOT_MEASURED
    answers: tuple[tuple[str, str], ...] = ()
    aboard: tuple[LotAboard, ...] = ()
    visit_ref: str = ""
    over_at: datetime | None = None
    booked: tuple[tuple[int, date], ...] = ()
    more_follows: bool = False
    is_high_rate: bool = False
    supervisor_id: int | None = None

    @property
    def product(self) -> Product | None:
        return self.use.label_version.product if self.use else None

    @property
    def pest_groups(self) -> list[str]:
        """The groups of the pests treated, each once."""
        return sorted({pest.group for pest in self.pests})

    @property
    def area_mm2(self) -> int:
        return sum(part.size.area_mm2 for part in self.parts)

    @property
    def length_mm(self) -> int:
        return sum(part.size.length_mm for part in self.parts)


@dataclass(frozen=True)
class Whole(Setting):
    """Everything a record and its windows are made from; amounts are of the right kind."""

    application: Application = field(kw_only=True)
    product_amount: Amount | None = field(kw_only=True)
    finished_amount: Amount | None = field(kw_only=True)


def whole_application(
    application: Application, place: Property | None, applicator: Person
) -> Whole:
    """Read every row an application names.

    Refused: what `whole_apart` and `with_zones` refuse.
    """
    return with_zones(whole_apart(application, place, applicator), application)


def whole_apart(application: Application, place: Property | None, applicator: Person) -> Whole:
    """Read every row an application names but its zones; amounts stay out too.

    Refused: a property, direction or pest that does not exist. The day is the day at the
    property, by its branch's time zone; the license is judged in the property's state on that day.
    """
    if place is None:
        raise Refused("property", "There is no such property. Open the stop again.")
    use = direction_named(application.label_use_id)
    day = application.started_at.astimezone(ZoneInfo(place.branch.time_zone)).date()
    license, supervisor_license = licenses_on(applicator.pk, place.state, day)
    if application.supervisor_id is not None:
        supervisor_license = license_in_force(application.supervisor_id, place.state, day)
    return Whole(
        application=application,
        place=place,
        applicator=applicator,
        license=license,
        supervisor_license=supervisor_license,
        parts=(),
        use=use,
        method=application.method,
        pests=pests_by_ids(application.pest_ids, use.pests.all() if use else ()),
        product_amount=None,
        finished_amount=None,
        aboard=lots_aboard(applicator.pk),
        on=day,
        weather=application.weather,
        answers=application.answers,
        visit_ref=application.visit_ref,
        over_at=application.finished_at,
        more_follows=application.more_follows,
    )


def _is_high(whole: Whole) -> bool:
    """By the amount, or because its condition was answered: one load of several shows half."""
    if any(code == LimitFact.HIGH_RATE_ONLY for code, _ in whole.answers):
        return True
    use, product, finished = whole.use, whole.product_amount, whole.finished_amount
    if use is None or product is None or use.rate_min is None or use.rate_min >= use.rate_max:
        return False
    basis = RateBasis(use.rate_basis)
    counted = finished if basis in IN_SPRAY else together(whole.parts, COUNTED_IN[basis])
    if basis == RateBasis.AREA:
        counted = Amount(sum((p.size.area.to("ft2").value for p in whole.parts), Decimal(0)), "ft2")
    middle = Rate.of(basis, (use.rate_min + use.rate_max) / 2, use.rate_unit)
    return counted is not None and bool(counted.value) and middle.compare(product, counted) > 0


def with_zones(whole: Whole, application: Application) -> Whole:
    """Add the zones as they are now, and the amounts, which a load may have said meanwhile.

    Refused: a zone that does not exist or is of another property, an amount of the wrong kind.
    """
    use = whole.use
    stood = replace(
        whole,
        application=application,
        parts=with_runs(parts_of(whole.place.pk, application.zones), application.zones),
        product_amount=product_amount(application.product_amount, use.rate_unit) if use else None,
        finished_amount=finished_amount(application.finished_amount),
    )
    return replace(stood, is_high_rate=_is_high(stood))


def direction_named(
    label_use_id: int | None, already: Collection[LabelUse] = ()
) -> LabelUse | None:
    """The direction with its label; None without a product, refused when it does not exist.

    It is read unless it is among those that were read already, each with its label.
    """
    if label_use_id is None:
        return None
    use = next((one for one in already if one.pk == label_use_id), None)
    use = use or _settled(label_use_id) or directions_with_label().filter(pk=label_use_id).first()
    if use is None:
        raise Refused("direction", "There is no such direction for use. Choose one of the list.")
    if use.label_version.is_draft:
        raise Refused("direction", "This label is still being entered. Choose one of the list.")
    return use


def direction_chosen(label_use_id: int, already: Collection[LabelUse] = ()) -> LabelUse:
    """The direction of that key as `direction_named` gives it."""
    use = direction_named(label_use_id, already)
    if use is None:
        raise Refused("direction", "Choose a product and direction for use first.")
    return use


def _settled(label_use_id: int) -> LabelUse | None:
    """A direction of a label in use as it is kept, with what may change read now."""
    use = used_direction(label_use_id)
    if use is not None:
        prefetch_related_objects([use], *MAY_CHANGE)
    return use


def directions_entered(label_use_ids: Collection[int]) -> list[LabelUse]:
    """The directions of these keys whose label is entered, in force or not."""
    rows = directions_with_label().filter(pk__in=label_use_ids, label_version__is_draft=False)
    return list(rows.order_by("pk"))


def directions_with_label() -> QuerySet[LabelUse]:
    """Directions with their label, product, ingredients, limits and pests: a fixed few queries."""
    return LabelUse.objects.select_related("label_version__product", "firm_rate").prefetch_related(
        "pests",
        "label_version__limits",
        "label_version__protections",
        "label_version__verifications",
        "label_version__withdrawals",
        Prefetch(
            "label_version__product__ingredients",
            ProductIngredient.objects.select_related("ingredient"),
        ),
    )


def licenses_on(
    person_id: int, state: str, day: date
) -> tuple[ApplicatorLicense | None, ApplicatorLicense | None]:
    """The license in force of a person in a state on a day, and of who supervises them."""
    license = license_in_force(person_id, state, day)
    if license is None or license.supervisor_id is None:
        return license, None
    return license, license_in_force(license.supervisor_id, state, day)


def latest_license(person_id: int, state: str) -> ApplicatorLicense | None:
    """What to say why no license is in force: the last one of the state, else of any state."""
    held = licenses_of(person_id)
    return max(held, key=lambda one: (one.state == state, one.expires_on), default=None)


def parts_of(
    property_id: int, zones: tuple[TreatedZone, ...], already: Collection[TreatableZone] = ()
) -> tuple[Part, ...]:
    """The named zones with their treated sizes; refused unless each is of this property, once.

    Those among `already` are not read again; give them as `zones_at` does.
    """
    found = {zone.pk: zone for zone in already}
    missing = [one.zone_id for one in zones if one.zone_id not in found]
    found |= {zone.pk: zone for zone in zones_by_ids(missing)} if missing else {}
    if len({one.zone_id for one in zones}) < len(zones):
        raise Refused("zones", "A zone is named twice. Open the stop again.")
    for one in zones:
        if one.zone_id not in found or found[one.zone_id].property_id != property_id:
            raise Refused(
                "zones", "A chosen zone is not one of this property. Open the stop again."
            )
    return tuple(
        Part(found[one.zone_id], treated_size(zone_measure(found[one.zone_id]), one.size))
        for one in zones
    )


def with_runs(parts: tuple[Part, ...], zones: tuple[TreatedZone, ...]) -> tuple[Part, ...]:
    """The parts with the wall runs of their zones; a zone is as large as its runs treated."""
    with_any = [part.zone.pk for part in parts if part.zone.has_runs]  # type: ignore[attr-defined]
    known = runs_by_zone(with_any) if with_any else {}
    said = {one.zone_id: one for one in zones}
    return tuple(
        _with_runs(part, known.get(part.zone.pk, ()), said[part.zone.pk]) for part in parts
    )


def _with_runs(part: Part, runs: Sequence[WallRun], said: TreatedZone) -> Part:
    zone = part.zone
    if said.rest and not runs:
        halves = part_and_rest(zone_measure(zone), said.size, said.rest, zone.name)
        return replace(part, runs=halves)
    if said.rest:
        raise Refused("runs", f"{zone.name} has wall runs now. Say of each what was treated.")
    keyed = [
        (one.pk, RunTold(one.name, one.length, zone.length_unit, one.length_mm)) for one in runs
    ]
    told = runs_told(keyed, said.left_out, zone.name)
    done = length_done(told)
    if done is None:
        return replace(part, runs=told)
    size = treated_size(zone_measure(zone), Entered(plain(done.value), done.unit))
    return Part(zone, size, told)


def together(parts: Collection[Part], unit: str) -> Amount | None:
    """Sizes of one kind added up in `unit`; None where no part is counted that way."""
    sizes = [Amount(Decimal(part.size.size), part.size.unit) for part in parts]
    alike = [size.to(unit).value for size in sizes if size.kind == kind_of(unit)]
    return Amount(sum(alike, Decimal(0)), unit) if alike else None


def pests_by_ids(pest_ids: tuple[int, ...], already: Collection[Pest] = ()) -> tuple[Pest, ...]:
    """The named pests, each once, in the order of the list; refused when one does not exist.

    The list is read unless all of them are among `already`, which is in its order.
    """
    wanted = set(pest_ids)
    if not wanted:
        return ()
    known = wanted <= {pest.pk for pest in already}
    found = tuple(
        pest
        for pest in (already if known else all_pests().filter(pk__in=wanted))
        if pest.pk in wanted
    )
    if len(found) < len(wanted):
        raise Refused("pests", "A chosen pest does not exist here. Choose from the list.")
    return found
