"""The mix of a direction on the zones of a setting, by whatever the label counts on."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from decimal import ROUND_DOWN, Decimal

from sites.rules.units import Amount, group
from treatments.models import LabelUse
from treatments.rules.mix_choices import MixChoice
from treatments.rules.mixing import CountedJob, Job, MixPlan, plan_counted, plan_mix
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rate_choices import wanted_rate
from treatments.rules.rates import IN_SPRAY, Rate
from treatments.rules.sprayers import measurement_warnings, output_warnings
from treatments.selectors.label_facts import percent_active, pounds_per_gallon
from treatments.selectors.whole import Part, Setting, together

WHOLE = Decimal(1)
COUNTED_IN = {RateBasis.LINEAR: "ft", RateBasis.COUNT: "each", RateBasis.SPACE_VOLUME: "ft3"}


def mix_of(
    setting: Setting,
    use: LabelUse,
    tank_gal: Decimal | None,
    choice: MixChoice,
    share: Decimal = WHOLE,
) -> MixPlan | None:
    """Plan the mix; None where the zones are not measured in what the direction counts on.

    `tank_gal` is the tank's content without a sprayer (None: one load takes all); `share` of the
    zones is mixed for, None is planned for a share of nothing.
    """
    basis = RateBasis(use.rate_basis)
    tank = choice.sprayer.tank_gal if choice.sprayer else tank_gal
    if basis in COUNTED_IN:
        return _counted(use, _part(setting, basis, share), tank, choice)
    area = _square_feet(setting.parts) * share
    if not area:
        return None
    gallons = _gallons_per_1000(use, choice)
    if basis == RateBasis.AREA and (gallons is None or not takes_water(use)):
        plan = _counted(use, Amount(area, "ft2"), tank, choice)
        return replace(plan, warnings=(*_without_output(use), *plan.warnings)) if plan else None
    if gallons is None:
        return None
    job = _spray_job if basis in IN_SPRAY else _area_job
    return _with_sprayer(plan_mix(job(use, area, gallons, tank, choice)), setting, use, choice)


def _part(setting: Setting, basis: RateBasis, share: Decimal) -> Amount | None:
    """What is counted of the zones; placements are whole."""
    size = together(setting.parts, COUNTED_IN[basis])
    if size is None or share == WHOLE:
        return size
    value = size.value * share
    return Amount(value.to_integral_value(ROUND_DOWN) if size.unit == "each" else value, size.unit)


def takes_water(use: LabelUse) -> bool:
    """Whether a direction is mixed: it names gallons, product in the spray, or a dilution."""
    return use.rate_basis in IN_SPRAY or bool(_gallons_named(use) or use.per_gallon)


def is_sprayed_on_area(use: LabelUse) -> bool:
    """Whether a direction is put out in gallons on an area, so that it may share a tank."""
    return use.rate_basis in IN_SPRAY or (
        use.rate_basis == RateBasis.AREA and bool(_gallons_named(use))
    )


def _gallons_named(use: LabelUse) -> tuple[Decimal, ...]:
    """The gallons per 1,000 sq ft that a label names: its own, the least and the most."""
    named = (use.gallons_per_1000, use.min_gallons_per_1000, use.max_gallons_per_1000)
    return tuple(one for one in named if one)


def _without_output(use: LabelUse) -> tuple[str, ...]:
    """A label that leaves the gallons open needs a measured output before a tank is filled."""
    named = " to ".join(group(one, 2) for one in dict.fromkeys(_gallons_named(use)))
    if not named:
        return ()
    return (
        f"The label gives {named} gal per 1,000 sq ft. Choose equipment whose output is measured, "
        "and the loads are worked out with it.",
    )


def _square_feet(parts: Collection[Part]) -> Decimal:
    return sum((part.size.area.to("ft2").value for part in parts), Decimal(0))


def _gallons_per_1000(use: LabelUse, choice: MixChoice) -> Decimal | None:
    measured = choice.sprayer.gal_per_1000 if choice.sprayer else None
    return measured or use.gallons_per_1000


def _with_sprayer(plan: MixPlan, setting: Setting, use: LabelUse, choice: MixChoice) -> MixPlan:
    if choice.sprayer is None:
        return plan
    least, most = use.min_gallons_per_1000, use.max_gallons_per_1000
    found = (
        *output_warnings(choice.sprayer, least, most, choice.system),
        *measurement_warnings(choice.sprayer, setting.on),
    )
    return replace(plan, warnings=(*found, *plan.warnings))


def _area_job(
    use: LabelUse, area: Decimal, gallons: Decimal, tank: Decimal | None, choice: MixChoice
) -> Job:
    """A job whose label names product on the area; its dilution belongs to its maximum."""
    wanted = wanted_rate(use.rate_min, use.rate_max, choice.rate)
    is_said_twice = wanted == use.rate_max and use.per_gallon is not None
    return Job(
        area_sq_ft=area,
        finished_gal_per_1000=gallons,
        tank_gal=area / 1000 * gallons if tank is None else tank,
        area_rate=Rate.of(RateBasis.AREA, wanted, use.rate_unit),
        dilution=_per_gallon(use) if is_said_twice else None,
        mix_basis=MixBasis(use.mix_basis),
        lb_ai_per_gal=pounds_per_gallon(use),
        percent_ai=percent_active(use),
        most=Rate.of(RateBasis.AREA, use.rate_max, use.rate_unit),
        measure=choice.measure,
        is_raised=choice.is_raised,
        system=choice.system,
    )


def _per_gallon(use: LabelUse) -> Rate | None:
    if use.per_gallon is None:
        return None
    return Rate.of(RateBasis.FINISHED_VOLUME, use.per_gallon, use.rate_unit)


def _spray_job(
    use: LabelUse, area: Decimal, gallons: Decimal, tank: Decimal | None, choice: MixChoice
) -> Job:
    """A job whose label names product in the spray: per gallon made up or added to, or percent."""
    is_added = use.rate_basis == RateBasis.DILUENT_VOLUME
    return Job(
        area_sq_ft=area,
        finished_gal_per_1000=gallons,
        tank_gal=area / 1000 * gallons if tank is None else tank,
        dilution=_in_spray(use, wanted_rate(use.rate_min, use.rate_max, choice.rate)),
        mix_basis=MixBasis.PER_DILUENT if is_added else MixBasis.PER_FINISHED,
        lb_ai_per_gal=pounds_per_gallon(use),
        percent_ai=percent_active(use),
        most=_in_spray(use, use.rate_max),
        measure=choice.measure,
        is_raised=choice.is_raised,
        system=choice.system,
    )


def _in_spray(use: LabelUse, value: Decimal) -> Rate:
    if use.rate_basis != RateBasis.PERCENT:
        return Rate.of(RateBasis.FINISHED_VOLUME, value, use.rate_unit)
    in_100_gal = Amount(value, "gal").to(use.rate_unit)
    return Rate(RateBasis.FINISHED_VOLUME, in_100_gal, Amount(Decimal(100), "gal"))


def _counted(
    use: LabelUse, size: Amount | None, tank: Decimal | None, choice: MixChoice
) -> MixPlan | None:
    """Length, placements, space, or an area that takes no water."""
    if size is None or size.value == 0:
        return None
    basis = RateBasis(use.rate_basis)
    wanted = wanted_rate(use.rate_min, use.rate_max, choice.rate)
    mixed = use.per_gallon if basis != RateBasis.AREA else None
    return plan_counted(
        CountedJob(
            size=size,
            rate=Rate.of(basis, wanted, use.rate_unit),
            most=Rate.of(basis, use.rate_max, use.rate_unit),
            per_gallon=Amount(mixed, use.rate_unit) if mixed else None,
            tank_gal=tank,
            lb_ai_per_gal=pounds_per_gallon(use),
            percent_ai=percent_active(use),
            measure=choice.measure,
            is_raised=choice.is_raised,
            system=choice.system,
        )
    )
