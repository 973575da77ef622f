"""What the mix page of a stop shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduling.selectors.instead import InsteadWords
from scheduling.selectors.last_loads import WayRow
from scheduling.selectors.mix_choices import ASK, Choice, Offered, also_ask
from scheduling.selectors.mix_found import Found
from scheduling.selectors.mix_words import MixWords
from scheduling.selectors.stops import ZoneRow
from scheduling.selectors.unlisted import Choices, Deciding, PestRow
from treatments.rules.alternatives import SIGNED_FOR
from treatments.rules.label_checks import Judgement
from treatments.rules.label_checks.handling import Handling
from treatments.rules.measures import measure_named
from treatments.rules.mixing import MixPlan
from treatments.rules.products import LimitFact, Severity
from treatments.rules.protective_equipment import Worn
from treatments.rules.questions import Question
from treatments.rules.sprayers import Sprayer

if TYPE_CHECKING:
    from treatments.models import LabelUse
    from treatments.selectors.checks import Preview
    from treatments.selectors.tank_mixes import TankMix


Over = tuple[list[tuple[str, str]], int | None]
Asked = tuple[tuple[Question, str], ...]


@dataclass(frozen=True)
class DirectionFacts:
    """One direction for use as the phone shows it."""

    pk: int
    title: str
    product: str
    registration_number: str
    label: str
    rate: str
    page: str
    signal_word: str
    protective_equipment: str
    reentry: str
    unit: str


@dataclass(frozen=True)
class AskedGroup:
    """The questions of one product; `ask` stands before each code in the form."""

    product: str
    ask: str
    questions: Asked


@dataclass(frozen=True)
class MixPage:
    """Zones, direction, the label's answer and the mix of one stop.

    `found` is what it is worked out from; `over` who may be named as supervisor and who supervises
    by the license, None where nobody has to be; `answer` and `tank` what was said of each product,
    None while nothing is judged.
    """

    found: Found
    visit_pk: int
    visit_ref: str
    property_id: int
    customer: str
    summary: str
    zones: tuple[ZoneRow, ...]
    uses: tuple[LabelUse, ...]
    direction: DirectionFacts | None
    methods: tuple[tuple[str, str], ...]
    pests: tuple[PestRow, ...]
    choice: Choice
    rates: Offered = ()
    measures: Offered = ()
    sprayers: Offered = ()
    sprayer: Sprayer | None = None
    rate_words: str = ""
    takes_water: bool = True
    beside: Offered = ()
    supervisors: Offered = ()
    over: Over | None = None
    answer: Preview | None = None
    tank: TankMix | None = None
    checks: tuple[Judgement, ...] = ()
    is_allowed: bool = False
    verdict: str = ""
    mix: MixWords | None = None
    plan: MixPlan | None = None
    so_far: str = ""
    refusal: str = ""
    instead: InsteadWords | None = None
    other_pests: Choices = ()
    deciding: Deciding | None = None
    wear: tuple[Worn, ...] = ()
    ways: tuple[WayRow, ...] = ()
    questions: Asked = ()
    also_questions: Asked = ()
    handling: tuple[Handling, ...] = ()
    within_label: str = ""

    @property
    def can_record(self) -> bool:
        return bool(self.checks)

    @property
    def asked_before(self) -> tuple[AskedGroup, ...]:
        """The questions to answer before mixing, by product: not times, names and amounts."""
        of_first = tuple(pair for pair in self.questions if not pair[0].is_written)
        of_second = tuple(pair for pair in self.also_questions if not pair[0].is_written)
        groups = [AskedGroup(self.product if self.also_product else "", ASK, of_first)]
        if self.choice.also_id:
            groups += [AskedGroup(self.also_product, also_ask(self.choice.also_id), of_second)]
        return tuple(group for group in groups if group.questions)

    @property
    def product(self) -> str:
        return self.direction.product if self.direction else ""

    @property
    def also_uses(self) -> tuple[LabelUse, ...]:
        """The direction of the other product in the tank; none without one."""
        return tuple(use for use in self.uses if use.pk == self.choice.also_id and self.beside)

    @property
    def also_ask(self) -> str:
        """What stands before the questions of the other product in a form."""
        return also_ask(self.choice.also_id or 0)

    @property
    def also_product(self) -> str:
        """The other product in the tank; empty without one."""
        return "".join(use.label_version.product.name for use in self.also_uses)

    @property
    def use(self) -> LabelUse | None:
        """The direction that is chosen."""
        return next((use for use in self.uses if use.pk == self.choice.use_id), None)

    @property
    def to_heed(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.checks if check.severity != Severity.NOTE)

    @property
    def to_decide(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.to_heed if check.code in SIGNED_FOR)

    @property
    def asks_for_water(self) -> bool:
        """Whether the distance to water is to be measured on the ground first."""
        return any(check.code == LimitFact.WATER_DISTANCE for check in self.to_heed)

    @property
    def passed(self) -> tuple[Judgement, ...]:
        return tuple(check for check in self.checks if check.severity == Severity.NOTE)

    @property
    def rate_chosen(self) -> str:
        return dict(self.rates).get(self.choice.rate, "")

    @property
    def supervisor_words(self) -> str:
        """Who was named to supervise before mixing; empty where the license says it."""
        return dict(self.supervisors).get(str(self.choice.supervisor_id), "")

    @property
    def sprayer_words(self) -> str:
        return dict(self.sprayers).get(str(self.choice.equipment_id), "")

    @property
    def read_in(self) -> str:
        """The unit the product is read in: that of the measure, else the label's."""
        label_unit = self.direction.unit if self.direction else "fl_oz"
        measure = measure_named(self.choice.measure, label_unit, self.choice.system)
        return measure.unit if measure and self.measures else label_unit

    @property
    def query(self) -> str:
        return self.choice.query

    @property
    def zone_names(self) -> str:
        return ", ".join(zone.name for zone in self.zones if zone.is_chosen)

    @property
    def size(self) -> str:
        return ", ".join(zone.size_planned for zone in self.zones if zone.is_chosen)

    @property
    def divisible(self) -> tuple[ZoneRow, ...]:
        """The chosen zones that may be treated in part."""
        return tuple(zone for zone in self.zones if zone.is_chosen and zone.part_unit)

    @property
    def has_parts(self) -> bool:
        """Whether a part of any zone is planned."""
        return any(zone.part for zone in self.divisible)

    @property
    def pest_names(self) -> str:
        return ", ".join(pest.name for pest in self.pests if pest.is_chosen)

    @property
    def method(self) -> str:
        return dict(self.methods).get(self.choice.method, "")

    @property
    def proposed(self) -> str:
        if self.mix is None:
            return "no amount"
        return ", ".join(part for part in (self.mix.product, self.mix.finished) if part)
