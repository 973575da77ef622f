"""The mix of a stop in words: amounts as read on the measure and in the label's unit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from scheduling.selectors.mix_choices import firm_rate_words
from sites.rules.branch_units import US, active, counted_on, on_area, product, spray
from sites.rules.units import Amount, display, shelf_unit, unit_word
from treatments.rules.measures import Measure, reading
from treatments.rules.mixing import MixPlan
from treatments.rules.rates import rate_number
from treatments.rules.tank_loads import TankLoad
from treatments.selectors.checks import Preview
from treatments.selectors.tank_mixes import TankMix

FOUR_DECIMALS = Decimal("0.0001")
TOO_LITTLE = "too little"  # for the measure; the amount stands beside it


@dataclass(frozen=True)
class LoadWords:
    """One tank load on the measure, in the label's unit and in another."""

    number: int
    product: str
    product_also: str
    finished: str
    finished_also: str
    second: str = ""
    second_also: str = ""


@dataclass(frozen=True)
class MixWords:
    """The mix for people: every amount rounded down, never up at a limit.

    `second_name` is another product in the same tank, with its amounts; empty without one.
    """

    size: str
    product: str
    product_also: str
    finished: str
    explained: str
    warnings: tuple[str, ...]
    loads: tuple[LoadWords, ...]
    fill_steps: tuple[str, ...]
    second_name: str = ""
    second: str = ""
    second_also: str = ""
    second_title: str = ""
    second_rate: str = ""
    second_protection: str = ""


def mix_words(mix: MixPlan, size: str, system: str = US) -> MixWords:
    """A plan in words; `size` as the page says it of the zones, spray in the branch's units."""
    return MixWords(
        size=size,
        product=reading(mix.measured, mix.measure),
        product_also=_also(mix.measured, mix.product.unit, mix.ai_lb, system),
        finished=spray(mix.finished_gal, system) if mix.finished_gal else "",
        explained=_explained(mix, system),
        warnings=mix.warnings,
        loads=tuple(_load_words(load, mix.measure, system) for load in mix.loads),
        fill_steps=mix.fill_steps,
    )


def so_far_words(answer: Preview, system: str = US) -> str:
    """What the stop put on these zones before, and what the mix is for; empty without any."""
    before = answer.so_far
    if before is None:
        return ""
    put = _put(before.product, answer.direction.rate_unit, system)
    out = before.finished.to("gal").value if before.finished else None
    spray_out = f" in {spray(out, system)}" if out else ""
    said = f"{put} of {answer.direction.label_version.product.name}{spray_out} on these zones."
    if answer.mix is None:
        return f"{said} That is the whole mix for them: nothing is left to mix."
    return f"{said} The mix is for the rest; the label judges both together."


def _put(product: Amount | None, unit: str, system: str) -> str:
    if product is None:
        return "An amount that nobody wrote down"
    unit = shelf_unit(unit, system)
    number = product.to(unit).value.quantize(FOUR_DECIMALS)
    return f"{rate_number(number)} {unit_word(unit)}"


def with_second(words: MixWords, tank: TankMix, system: str = US) -> MixWords:
    """The same tank with its second product in each load, in the total and in the fill order."""
    plan, use = tank.plan, tank.second.direction
    loads = [
        replace(one, second=other.product, second_also=other.product_also)
        for one, other in zip(words.loads, mix_words(plan, words.size, system).loads, strict=True)
    ]
    return replace(
        words,
        warnings=(*words.warnings, *_warned_alone(words, plan, use.label_version.product.name)),
        loads=tuple(loads),
        fill_steps=tank.fill_steps,
        second_name=use.label_version.product.name,
        second_title=use.title,
        second_rate=firm_rate_words(use),
        second_protection=use.label_version.protective_equipment,
        second=reading(plan.measured, plan.measure),
        second_also=_also(plan.measured, plan.product.unit, plan.ai_lb, system),
    )


def _warned_alone(words: MixWords, plan: MixPlan, name: str) -> tuple[str, ...]:
    """What is warned of the second product only, under its name."""
    return tuple(f"{name}: {one}" for one in plan.warnings if one not in words.warnings)


def _load_words(load: TankLoad, measure: Measure | None, system: str) -> LoadWords:
    also = [("gal", 2)] if system != US else [("fl_oz", 1)]
    return LoadWords(
        number=load.number,
        product=TOO_LITTLE if load.is_under_a_mark else reading(load.measured, measure),
        product_also=_load_also(load, measure),
        finished=spray(load.finished_gal, system),
        finished_also=" · ".join(
            display(Amount(load.finished_gal, "gal").to(unit), places)
            for unit, places in (*also, ("mL", 0))
        ),
    )


def _load_also(load: TankLoad, measure: Measure | None) -> str:
    also = _also(load.measured, load.product.unit, None)
    return f"{reading(load.measured, measure)} · {also}" if load.is_under_a_mark else also


def _also(amount: Amount, label_unit: str, ai_lb: Decimal | None, system: str = US) -> str:
    """The same amount in the label's unit, in metric where both are the same, and what acts."""
    other = label_unit
    if amount.unit == label_unit:
        other = {"volume": "mL", "mass": "g"}.get(amount.kind, label_unit)
    words = [] if other == "each" else [display(amount.to(other), 2, round_down=True)]
    words += [active(ai_lb, system)] if ai_lb is not None else []
    return " · ".join(words)


def _explained(mix: MixPlan, system: str) -> str:
    """Where the number came from."""
    how = "By area" if mix.area_sq_ft else "By the label"
    words = [f"{how} {product(mix.by_rate, system, 3)}."] if mix.by_rate else []
    words += [f"By dilution {product(mix.by_dilution, system, 3)}."] if mix.by_dilution else []
    words.append(f"{_per(mix, system)}.")
    words += [f"Rounded down to {mix.measure.words}."] if mix.measure else []
    return " ".join(words)


def _per(mix: MixPlan, system: str) -> str:
    if mix.area_sq_ft:
        return f"That is {on_area(mix.product, mix.area_sq_ft, system)}"
    return f"That is {counted_on(mix.product_per, mix.per, system)}"
