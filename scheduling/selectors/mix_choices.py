"""What the technician has chosen on the mix page, and what may be chosen."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from scheduling.selectors.unlisted import methods_of
from sites.rules.branch_units import METRIC, US, output, tank
from sites.rules.units import SPRAY_UNITS, Amount, parse_amount
from treatments.rules.measures import Measure, measure_named, measures_for
from treatments.rules.mix_choices import MixChoice
from treatments.rules.products import RateBasis
from treatments.rules.rate_choices import (
    LONGEST_REASON,
    NEEDS_REASON,
    RATE_CHOICE_WORDS,
    RateChoice,
    offered_or_low,
    rate_choices,
)
from treatments.rules.rates import Rate
from treatments.rules.safety_questions import for_second
from treatments.rules.sprayers import Sprayer
from treatments.selectors.labels import firm_rate_of
from treatments.selectors.mix_jobs import is_sprayed_on_area

if TYPE_CHECKING:
    from treatments.models import LabelUse

LARGEST_TANK_GAL = Decimal(2000)
ONE_TANK = {US: "1", METRIC: "4"}  # a hand can, by the units of the branch
ASK = "ask_"  # before the code of a safety question, in an address and a form
Offered = tuple[tuple[str, str], ...]


def also_ask(use_id: int) -> str:
    """What stands before a question of the second product: its own direction, so that no answer
    is ever taken for another one."""
    return f"also_{use_id}_"


@dataclass(frozen=True)
class Choice:
    """What the technician has chosen so far; `rate`, `measure` as their codes, `of` the direction
    that method and pests are for, `also_answers` to the questions of the other product's label."""

    zone_ids: tuple[int, ...] = ()
    use_id: int | None = None
    method: str = ""
    pest_ids: tuple[int, ...] = ()
    tank: str = "1"
    system: str = US
    rate: str = ""
    reason: str = ""
    measure: str = ""
    equipment_id: int | None = None
    also_id: int | None = None
    supervisor_id: int | None = None
    of: int | None = None
    answers: tuple[tuple[str, str], ...] = ()
    also_answers: tuple[tuple[str, str], ...] = ()

    @property
    def query(self) -> str:
        """The same choice as an address."""
        pairs: list[tuple[str, object]] = [("zone", zone) for zone in self.zone_ids]
        pairs += [("pest", pest) for pest in self.pest_ids]
        pairs += [(f"{ASK}{code}", answer) for code, answer in self.answers]
        if self.also_id:
            ask = also_ask(self.also_id)
            pairs += [(f"{ask}{code}", answer) for code, answer in self.also_answers]
        named = {
            "use": self.use_id,
            "method": self.method,
            "tank": self.tank,
            "rate": self.rate,
            "reason": self.reason,
            "measure": self.measure,
            "equipment": self.equipment_id,
            "also": self.also_id,
            "supervisor": self.supervisor_id,
        }
        return urlencode(pairs + [(name, value) for name, value in named.items() if value])

    @property
    def of_the_other(self) -> Choice:
        """The same choice for the second product of a tank, with the answers that are for it."""
        return replace(
            self,
            use_id=self.also_id,
            also_id=None,
            rate="",
            reason="",
            measure="",
            answers=for_second(self.answers, self.also_answers),
            also_answers=(),
        )

    @property
    def spray_unit(self) -> str:
        """What spray and tanks are said in."""
        return SPRAY_UNITS[self.system]

    @property
    def tank_gal(self) -> Decimal:
        """The tank as typed; refused when it is no amount."""
        most = Amount(LARGEST_TANK_GAL, "gal").to(self.spray_unit).value
        return parse_amount(self.tank, self.spray_unit, at_most=most).to("gal").value


def with_defaults(choice: Choice, use: LabelUse | None, sprayers: Collection[int]) -> Choice:
    """The direction's first method, every pest, the firm's rate and a fitting measure, until the
    technician says otherwise; what belongs to another direction or branch is dropped."""
    if use is None:
        return Choice(zone_ids=choice.zone_ids, tank=choice.tank, system=choice.system)
    named = tuple(sorted(pest.pk for pest in use.pests.all()))
    methods, pests = dict(methods_of(use)), choice.pest_ids
    if choice.of not in (None, use.pk):
        methods = dict.fromkeys(use.methods, "")
        pests = tuple(pest for pest in pests if pest in named)
    is_same = choice.of in (None, use.pk)
    rate = (choice.rate if is_same else "") or firm_rate_of(use)
    measure = measure_of(choice, use)
    return replace(
        choice,
        use_id=use.pk,
        method=choice.method if choice.method in methods else use.methods[0],
        pest_ids=pests or named,
        rate=offered_or_low(rate, use.rate_min, use.rate_max).value,
        measure=measure.code if measure else "",
        answers=choice.answers if is_same else (),
        equipment_id=next((pk for pk in sprayers if pk == choice.equipment_id), None),
    )


def measure_of(choice: Choice, use: LabelUse) -> Measure | None:
    """The measure chosen, or proposed; placements are counted and need none."""
    if use.rate_basis == RateBasis.COUNT:
        return None
    return measure_named(choice.measure, use.rate_unit, choice.system)


def mix_choice(choice: Choice, use: LabelUse, sprayer: Sprayer | None) -> MixChoice:
    """The choice for the mix; refused without the reason a high rate needs."""
    return MixChoice(
        rate=RateChoice(choice.rate),
        reason=choice.reason,
        measure=measure_of(choice, use),
        sprayer=sprayer,
        system=choice.system,
    )


def offered_rates(use: LabelUse) -> Offered:
    """Low rate, 0.50 fl oz per 1,000 sq ft, and so on."""
    offered = rate_choices(use.rate_min, use.rate_max, use.rate_unit)
    return tuple(
        (choice.value, f"{_rate_name(choice, len(offered))}, {_rate(use, value).words}")
        for choice, value in offered.items()
    )


def firm_rate_words(use: LabelUse) -> str:
    """The rate that the firm proposes for a direction, as it is offered."""
    choice = offered_or_low(firm_rate_of(use), use.rate_min, use.rate_max)
    return dict(offered_rates(use))[choice.value]


def _rate_name(choice: RateChoice, offered: int) -> str:
    if offered == 1:
        return "The label's rate"
    is_only_one = offered == len((RateChoice.LOW, RateChoice.MOST))
    if choice == RateChoice.LOW and is_only_one:
        return "95 % of the maximum"
    return RATE_CHOICE_WORDS[choice]


def _rate(use: LabelUse, value: Decimal) -> Rate:
    return Rate.of(RateBasis(use.rate_basis), value, use.rate_unit)


def offered_measures(use: LabelUse) -> Offered:
    """Marks of 1 mL, and so on, as they fit the label's unit."""
    if use.rate_basis == RateBasis.COUNT:
        return ()
    fitting = measures_for(use.rate_unit)
    return tuple((one.code, one.words[:1].upper() + one.words[1:]) for one in fitting)


def offered_beside(use: LabelUse, uses: Iterable[LabelUse]) -> Offered:
    """Directions of other products that are put out in gallons on an area."""
    product = use.label_version.product_id
    return tuple(
        (str(other.pk), f"{other.label_version.product.name}: {other.title}")
        for other in uses
        if other.label_version.product_id != product and is_sprayed_on_area(other)
    )


def offered_sprayers(sprayers: dict[int, Sprayer], system: str) -> Offered:
    """Backpack 2, 4 gal tank, 1.25 gal per 1,000 sq ft; in the units of the branch."""
    return tuple((str(pk), _sprayer(one, system)) for pk, one in sprayers.items())


def _sprayer(one: Sprayer, system: str) -> str:
    named = f"{one.name}, {tank(one.tank_gal, system)} tank"
    if one.gal_per_1000 is None:
        return f"{named}, not measured"
    return f"{named}, {output(one.gal_per_1000, system)}"


def reason_words(choice: Choice, use: LabelUse) -> str:
    """The rate with its reason as it goes into the notes of the record; empty without need."""
    if choice.rate not in NEEDS_REASON:
        return ""
    rate = dict(offered_rates(use))[choice.rate]
    reason = " ".join(choice.reason.split())[:LONGEST_REASON]
    return f"{rate}: {reason or 'no reason given'}"
