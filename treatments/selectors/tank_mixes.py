"""A second product in the tank of a mix."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.branch_units import spray
from treatments.models import LabelUse
from treatments.rules.alternatives import waits_for_signature
from treatments.rules.label_checks import Judgement, allowed
from treatments.rules.label_checks.handling import agitation_steps
from treatments.rules.measures import measure_named, reading
from treatments.rules.mix_choices import MixChoice
from treatments.rules.mixing import MixPlan
from treatments.rules.products import (
    Comparison,
    Formulation,
    LimitFact,
    RegistrationKind,
    Severity,
)
from treatments.rules.questions import Question
from treatments.rules.rate_choices import offered_or_low
from treatments.rules.safety_questions import for_second, is_of_the_work, refuse_answers
from treatments.rules.tank_loads import LISTED
from treatments.rules.tank_mixes import (
    FillGroup,
    InTank,
    NotWith,
    YearlyLimit,
    tank_mix_checks,
    tank_mix_steps,
)
from treatments.selectors.checks import Preview, previewed
from treatments.selectors.label_facts import clause_of, label_facts
from treatments.selectors.labels import firm_rate_of
from treatments.selectors.past_uses import ingredients_of, looked_back
from treatments.selectors.proposed_uses import Known, known_also
from treatments.selectors.whole import direction_chosen


@dataclass(frozen=True)
class TankMix:
    """The second product on the same zones in the same spray, and what is said of both."""

    first: Preview
    second: Preview
    plan: MixPlan
    judgements: tuple[Judgement, ...]
    fill_steps: tuple[str, ...]

    @property
    def is_allowed(self) -> bool:
        return self.second.is_allowed and allowed(self.judgements)

    @property
    def questions(self) -> tuple[tuple[Question, str], ...]:
        """What only the second label asks; the work itself is asked once, with the first."""
        pairs = self.second.questions
        return tuple(pair for pair in pairs if not is_of_the_work(pair[0].code))


def tank_mix(
    first: Preview, label_use_id: int, *, tank_gal: Decimal | None, choice: MixChoice,
    answers: tuple[tuple[str, str], ...] = (), already: Collection[LabelUse] = (),
) -> TankMix:  # fmt: skip
    """Mix a second direction into the tank of a first, at the firm's rate and the same gallons.

    `choice` and `tank_gal` as the first was asked with; `answers` to the questions that the
    second label asks; `already` directions that were read with their labels. What the first was
    judged by is not read again. Refused: a direction that is not mixed
    by the gallons put on the area, on either side, and labels that assume other gallons where no
    measured output decides, one product of the tank recorded at this visit and the other not.
    Where both are out in part, `first` of the answer is for the same rest as the second.
    """
    use = direction_chosen(label_use_id, already)
    beside = _beside(use, choice)
    both_answered = for_second(first.setting.answers, answers)
    refuse_answers(both_answered)
    setting = replace(first.setting, use=use, answers=both_answered)
    known = known_also(first.known, setting, [first.direction, use])
    second = previewed(setting, use, tank_gal, beside, known)
    if waits_for_signature(second.judgements):
        raise Refused(
            "tank_mix",
            f"The label of {second.direction.label_version.product.name} is silent about this. "
            "Put it out by itself, after a certified applicator has signed.",
            field="also",
        )
    _refuse_half_recorded(first, second)
    if first.share != second.share:
        # read on the measure, what is out of the two differs a little: the tank is for the lesser
        least = min(first.share, second.share)
        first = previewed(first.setting, first.direction, tank_gal, choice, known, least)
        second = previewed(second.setting, second.direction, tank_gal, beside, known, least)
    plan, other = _mixed(first), _mixed(second)
    _refuse_other_gallons(plan, other, choice.system)
    both = (_in_tank(first, plan, known), _in_tank(second, other, known))
    readings = {one.name: _read(mix) for one, mix in zip(both, (plan, other), strict=True)}
    judgements = tank_mix_checks(both, plan.area_sq_ft or Decimal(1))
    steps = tank_mix_steps(plan.loads[0].finished_gal, both, readings, choice.system)
    return TankMix(first, second, other, judgements, steps)


def _read(mix: MixPlan) -> str:
    """What is measured for the first load; never a number that nobody can pour."""
    load = mix.loads[0]
    return LISTED if load.is_under_a_mark else reading(load.measured, mix.measure)


def _refuse_half_recorded(first: Preview, second: Preview) -> None:
    """A tank of two puts both out: with one of them recorded, the other record is missing."""
    if (first.so_far is None) == (second.so_far is None):
        return
    there, missing = (first, second) if first.so_far else (second, first)
    names = [one.direction.label_version.product.name for one in (there, missing)]
    raise Refused(
        "tank_mix",
        f"{names[0]} is recorded on these zones at this stop, {names[1]} is not. If they were in "
        f"one tank, record {names[1]} too. If not, choose nothing else for this tank.",
        field="also",
    )


def _mixed(one: Preview) -> MixPlan:
    if one.mix is None and one.so_far is not None:
        raise Refused(
            "tank_mix",
            f"All of {one.direction.label_version.product.name} for these zones is recorded at "
            "this stop: nothing is left to mix. Choose nothing else for this tank.",
            field="also",
        )
    if one.mix is None or not one.mix.loads or not one.mix.area_sq_ft:
        raise Refused(
            "tank_mix",
            f"{one.direction} is not put out in gallons on an area: it shares no tank. "
            "Choose nothing else for this tank.",
            field="also",
        )
    return one.mix


def _beside(use: LabelUse, choice: MixChoice) -> MixChoice:
    """The rate the firm proposes and a fitting measure; a high rate is somebody's decision."""
    return MixChoice(
        rate=offered_or_low(firm_rate_of(use), use.rate_min, use.rate_max),
        measure=measure_named("", use.rate_unit, choice.system),
        sprayer=choice.sprayer,
        system=choice.system,
    )


def _refuse_other_gallons(one: MixPlan, other: MixPlan, system: str) -> None:
    if one.finished_gal == other.finished_gal:
        return
    gallons = " and ".join(spray(plan.finished_gal, system) for plan in (one, other))
    raise Refused(
        "tank_mix",
        f"The two labels assume {gallons} on this area. Choose measured equipment: its output "
        "counts for both.",
        field="equipment",
    )


def _in_tank(one: Preview, plan: MixPlan, known: Known) -> InTank:
    use, label, on = one.direction, one.direction.label_version, one.setting.on
    zone_ids = {part.zone.pk for part in one.parts}
    at_property = looked_back(use, known.uses, on)
    past = [past for past in at_property if past.zone_id in zone_ids]
    ingredients = ingredients_of(use, plan.meant, past, known.holding, on)
    rows = [row for row in label.limits.all() if row.label_use_id in (None, use.pk)]
    yearly = [
        YearlyLimit(row.limit, Severity(row.severity), clause_of(use, row.page))
        for row in rows
        if row.fact == LimitFact.INGREDIENT_PER_ACRE_YEAR
    ]
    return replace(
        tank_mate(use),
        ingredients_lb={row.name: row.lb for row in ingredients},
        before_lb={row.name: None if row.lb is None else row.lb_this_year for row in ingredients},
        yearly=tuple(yearly),
    )


def tank_mate(use: LabelUse) -> InTank:
    """What the label of one direction says of a tank it shares, without amounts."""
    label = use.label_version
    rows = [row for row in label.limits.all() if row.label_use_id in (None, use.pk)]
    forbidden = [
        row
        for row in rows
        if (row.fact, row.comparison) == (LimitFact.TANK_MIX, Comparison.FORBIDDEN)
    ]
    forbidden, named = (
        [row for row in forbidden if not row.named],
        [row for row in forbidden if row.named],
    )
    own_first = sorted(rows, key=lambda row: row.label_use_id is None)
    turns = [FillGroup(int(row.limit)) for row in own_first if row.fact == LimitFact.FILL_TURN]
    return InTank(
        name=label.product.name,
        clause=clause_of(use, use.page),
        formulation=Formulation(label.product.formulation),
        forbids_mixing=forbidden[0].sentence if forbidden else "",
        forbids_severity=Severity(forbidden[0].severity) if forbidden else Severity.REFUSE,
        label_group=turns[0] if turns else None,
        is_adjuvant=label.product.registration_kind == RegistrationKind.NOT_A_PESTICIDE,
        contains=frozenset(one.ingredient.common_name for one in label.product.ingredients.all()),
        not_with=tuple(
            NotWith(row.named, row.sentence, Severity(row.severity), clause_of(use, row.page))
            for row in named
        ),
        agitation=agitation_steps(label_facts(use).limits),
    )
