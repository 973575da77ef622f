"""What a label says, what somebody wants to do, and the answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from accounts.rules.respirators import Papers
from accounts.rules.training import Training
from sites.rules.places import PestGroup, Place, PreferenceKind, Surface
from sites.rules.units import Amount
from treatments.rules.products import (
    Comparison,
    Formulation,
    LicenseKind,
    LimitFact,
    Method,
    Severity,
    Task,
)
from treatments.rules.protective_equipment import ProtectionRow
from treatments.rules.rates import Rate

LONGEST_CLAUSE = 200
AND_MORE = " and {} more pages"


@dataclass(frozen=True)
class LabelLimit:
    """One typed row: the fact, how it is compared, the limit in the fact's unit (LIMIT_UNITS).

    `unit` is of product, for an amount of product in a year; `sentence` is the label's own;
    `named` the product, ingredient or license category the row is about.
    """

    fact: LimitFact
    comparison: Comparison
    limit: Decimal | None = None
    severity: Severity = Severity.REFUSE
    clause: str = ""
    unit: str = ""
    sentence: str = ""
    named: str = ""


@dataclass(frozen=True)
class LabelFacts:
    """One direction of one label version.

    `pests` are common names; `only_these` when the label says that nothing else is allowed;
    `min_finished_gal`, `max_finished_gal` are gallons of finished spray per 1,000 sq ft;
    `clause` names label and page; `number` is the registration number, empty when exempt;
    `withdrawn_because` is the firm's reason where `not_to_be_used_after` is given.
    """

    product_name: str
    number: str
    clause: str
    places: frozenset[Place]
    methods: frozenset[Method]
    pests: frozenset[str] = frozenset()
    pest_groups: frozenset[PestGroup] = frozenset()
    prohibited_methods: frozenset[Method] = frozenset()
    only_these: bool = False
    rate_min: Rate | None = None
    rate_max: Rate | None = None
    min_finished_gal: Decimal | None = None
    max_finished_gal: Decimal | None = None
    min_interval_days: int | None = None
    uses_per_year: int | None = None
    limits: tuple[LabelLimit, ...] = ()
    effective_on: date | None = None
    not_to_be_used_after: date | None = None
    withdrawn_because: str = ""
    is_restricted_use: bool = False
    is_verified: bool = True
    formulation: Formulation | None = None
    protections: tuple[ProtectionRow, ...] = ()


@dataclass(frozen=True)
class ZoneUse:
    """One zone of the use: lengths in ft, `area` treated, and what was done there before.

    `whole` is all of the zone's surface, `treated_before` what of it this visit treated before.

    `last_used_on` and `uses_this_year` are of the same product in this zone at other visits;
    `spot_sq_ft` is the largest single spot; `booked_on` are days of visits booked for it from this
    day on; `ingredient_used_on` is the last use of another product with one of its ingredients.
    """

    name: str
    place: Place
    surface: Surface
    area: Amount
    height_up_ft: Decimal = Decimal(0)
    width_out_ft: Decimal = Decimal(0)
    is_rain_protected: bool = False
    is_over_impervious: bool = False
    spot_sq_ft: Decimal | None = None
    last_used_on: date | None = None
    ingredient_used_on: date | None = None
    uses_this_year: int = 0
    booked_on: tuple[date, ...] = ()
    whole: Amount | None = None
    treated_before: Amount | None = None


@dataclass(frozen=True)
class IngredientUse:
    """Pounds of one active ingredient on all zones: of this use and earlier this year.

    Every product that holds it counts; None where a strength or an amount is not known.
    """

    name: str
    lb: Decimal | None
    lb_this_year: Decimal | None


@dataclass(frozen=True)
class EarlierUse:
    """One earlier use at the property; `is_here` in the zones of the proposed one."""

    on: date
    pests: frozenset[str]
    irac_groups: frozenset[str]
    is_bait: bool
    is_here: bool


@dataclass(frozen=True)
class VisitUse:
    """One record of this product made before at the same visit and on the same day.

    `sizes` maps a zone to how much of it was treated, in whole canonical units of what the
    direction's rate counts (area for a rate in the spray); 0 where it was not measured that way.
    """

    product: Amount | None
    finished: Amount | None
    sizes: Mapping[int, int]
    is_same_direction: bool = True


@dataclass(frozen=True)
class License:
    """One person's license: valid from `issued_on` through `expires_on` in one state."""

    kind: LicenseKind
    number: str
    state: str
    expires_on: date
    issued_on: date | None = None
    categories: frozenset[str] = frozenset()


@dataclass(frozen=True)
class HardPreference:
    """What the customer insists on; `product_name` for a refused product."""

    kind: PreferenceKind
    said_by: str
    said_on: date
    note: str = ""
    product_name: str = ""


@dataclass(frozen=True)
class CarriedLot:
    """A lot of the product on the truck; `label` in words, `expires_on` its last day, if any.

    `label_until` is the last day of its label where that one is withdrawn.
    """

    number: str
    label: str
    is_of_this_label: bool
    expires_on: date | None = None
    label_until: date | None = None

    def is_good(self, on: date) -> bool:
        """Whether neither the lot nor its label has ended by a day."""
        ends = (self.expires_on, self.label_until)
        return all(end is None or on <= end for end in ends)


@dataclass(frozen=True)
class Conditions:
    """Readings on the spot; None is not measured.

    A distance to water counts only when it was measured on the ground, on `water_measured_on`.
    """

    wind_mph: Decimal | None = None
    temperature_f: Decimal | None = None
    water_distance_ft: Decimal | None = None
    water_measured_on: date | None = None


@dataclass(frozen=True)
class Decision:
    """What a certified applicator signed about a method and `pests` that a direction lacks.

    `by` and `reason` are empty where they must not be kept.
    """

    method: Method
    pests: frozenset[str]
    is_allowed: bool
    by: str
    license_number: str
    on: date
    at: datetime
    reason: str


@dataclass(frozen=True)
class ProposedUse:
    """One product on some zones on one day, before mixing or after the fact.

    `pests` maps the common name to its group; `product` is undiluted; the measures that do not
    apply are None; `state` is the property's; `categories` the license categories that would
    do, empty when not known, by the rule `category_clause`; `ingredients` are of the zones' area,
    as is `product_this_year`, put there before this use; `irac_groups` are those of its product;
    `answers` are those to the safety questions, by code; `decisions` are about this direction;
    `respirators` are the papers of who does it, the newest first, and `trainings` their
    qualification for restricted use;
    `beneficial` and `referred` name pests; `this_visit` is what was put out of this product before
    at the visit, `sizes` and `wholes` the zones of this use as it has them;
    `unlisted_pest_clause` and so on name the rule that forbids what a label does not name;
    `is_over` says that the work is done, `more_follows` that another load of it follows at the
    visit; `is_high_rate` that it is above the middle of the label's rates; `units_occupied` are the
    units of the property, `is_school` whether the customer has a school's coordinator, `site_kind`
    what kind of site the property is entered as;
    `irac_schemes` name the version of the scheme a group is of.
    """

    on: date
    state: str
    zones: tuple[ZoneUse, ...]
    method: Method
    pests: dict[str, PestGroup]
    product: Amount
    finished: Amount | None = None
    diluent: Amount | None = None
    length: Amount | None = None
    count: Amount | None = None
    space: Amount | None = None
    license: License | None = None
    supervisor: License | None = None
    categories: frozenset[str] = frozenset()
    category_clause: str = ""
    preferences: tuple[HardPreference, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    answers: Mapping[str, str] = field(default_factory=dict)
    history_known_since: date | None = None
    ingredients: tuple[IngredientUse, ...] = ()
    irac_groups: frozenset[str] = frozenset()
    earlier: tuple[EarlierUse, ...] = ()
    beneficial: frozenset[str] = frozenset()
    referred: frozenset[str] = frozenset()
    has_bees: bool = False
    product_this_year: Amount | None = None
    decisions: tuple[Decision, ...] = ()
    tasks: tuple[Task, ...] = ()
    respirators: tuple[Papers, ...] = ()
    trainings: tuple[Training, ...] = ()
    allows_unlisted_pest: Severity = Severity.WARN
    allows_unlisted_method: Severity = Severity.WARN
    unlisted_pest_clause: str = ""
    unlisted_method_clause: str = ""
    lots: tuple[CarriedLot, ...] = ()
    this_visit: tuple[VisitUse, ...] = ()
    sizes: Mapping[int, int] = field(default_factory=dict)
    wholes: Mapping[int, int] = field(default_factory=dict)
    is_over: bool = False
    more_follows: bool = False
    is_high_rate: bool = False
    units_occupied: tuple[bool, ...] = ()
    is_school: bool = False
    site_kind: str = ""
    irac_schemes: Mapping[str, str] = field(default_factory=dict)

    @property
    def area(self) -> Amount:
        """All zones together, in square feet."""
        return Amount(sum((z.area.to("ft2").value for z in self.zones), Decimal(0)), "ft2")


@dataclass(frozen=True)
class Judgement:
    """The answer of one clause: what is wrong (or what passed), why, and what to do."""

    code: str
    severity: Severity
    sentence: str
    clause: str
    to_do: str = ""

    @property
    def whole(self) -> str:
        """What is wrong. Clause. What to do."""
        clause = f"{self.clause}." if self.clause else ""
        return " ".join(part for part in (self.sentence, clause, self.to_do) if part)


def cited(label: str, pages: Iterable[str]) -> str:
    """A label with the pages that say so: as many as fit into the clause of a record."""
    clause, named = label, list(pages)
    for number, page in enumerate(named):
        longer = ", ".join(part for part in (clause, page) if part)
        if len(longer) > LONGEST_CLAUSE - len(AND_MORE.format(len(named))):
            return clause + AND_MORE.format(len(named) - number)
        clause = longer
    return clause


Check = Callable[[LabelFacts, ProposedUse], list[Judgement]]
