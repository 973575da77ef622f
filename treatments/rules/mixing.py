"""What goes in the tank: finished spray, product, loads and the order of filling.

Formulas: proportion, as in US Army subcourse MD0173, pp. 36 to 43 (read). The rate on the area
is the label's quantity; the dilution must agree with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from accounts.refusals import Refused
from sites.rules.units import Amount, display, unit_word
from treatments.rules.dilutions import FL_OZ_PER_GAL, active_ingredient_lb, per_acre
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rates import Rate

DISAGREEMENT = Decimal(10)  # percent between area rate and dilution (house rule)
SHARE_OF_MAXIMUM = Decimal("0.95")  # a proposal stays under a label's maximum by this much
MOST_LOADS = 200


@dataclass(frozen=True)
class Job:
    """What is to be mixed for.

    `area_sq_ft`; `finished_gal_per_1000` from the calibration; `area_rate` product per area,
    `dilution` product per gallon (one of them at least); `most` the label's maximum;
    `graduation` the finest mark of the measure on the truck, in the product's unit;
    `is_raised` when the technician asked for more than 95 % of the maximum, with a reason.
    """

    area_sq_ft: Decimal
    finished_gal_per_1000: Decimal
    tank_gal: Decimal
    area_rate: Rate | None = None
    dilution: Rate | None = None
    mix_basis: MixBasis = MixBasis.PER_FINISHED
    lb_ai_per_gal: Decimal | None = None
    percent_ai: Decimal | None = None
    most: Rate | None = None
    graduation: Decimal | None = None
    is_raised: bool = False

    def __post_init__(self) -> None:
        if min(self.area_sq_ft, self.finished_gal_per_1000, self.tank_gal) <= 0:
            raise Refused("mix", "Area, output and tank are above zero. Measure and enter them.")
        if self.area_rate is None and self.dilution is None:
            raise Refused("mix", "The label direction has no rate. Choose another direction.")

    @property
    def area(self) -> Amount:
        return Amount(self.area_sq_ft, "ft2")

    @property
    def finished_gal(self) -> Decimal:
        return self.area_sq_ft / 1000 * self.finished_gal_per_1000


@dataclass(frozen=True)
class TankLoad:
    """One tank: gallons when full, product and water in it; `measured` is rounded down."""

    number: int
    finished_gal: Decimal
    product: Amount
    water_gal: Decimal
    measured: Amount


@dataclass(frozen=True)
class MixPlan:
    """The answer; amounts are exact until shown. A product used unmixed has no loads."""

    area_sq_ft: Decimal
    finished_gal: Decimal
    product: Amount
    by_area: Amount | None
    by_dilution: Amount | None
    difference_percent: Decimal | None
    warnings: tuple[str, ...]
    loads: tuple[TankLoad, ...]
    fill_steps: tuple[str, ...]
    product_per_1000: Amount
    product_per_acre: Amount
    ai_lb: Decimal | None
    ai_lb_per_acre: Decimal | None

    @property
    def measured(self) -> Amount:
        """What is really poured: the sum of the loads as measured."""
        if not self.loads:
            return self.product
        total = sum((load.measured.value for load in self.loads), Decimal(0))
        return Amount(total, self.product.unit)


def plan_mix(job: Job) -> MixPlan:
    """Product, loads and order of filling for one job."""
    by_area = job.area_rate.product_on(job.area) if job.area_rate else None
    by_dilution = _by_dilution(job)
    wanted = by_area or by_dilution
    if wanted is None:
        raise Refused("mix", "The label direction has no rate. Choose another direction.")
    product = _proposed(job, wanted)
    loads = tank_loads(job, product)
    plan = _plan(job, product, loads)
    difference = difference_percent(by_area, by_dilution)
    return replace(
        plan,
        by_area=by_area,
        by_dilution=by_dilution,
        difference_percent=difference,
        warnings=_warnings(job, difference, wanted, product),
    )


def plan_unmixed(job_area_sq_ft: Decimal, rate: Rate, percent_ai: Decimal | None = None) -> MixPlan:
    """Granules, dusts and ready-to-use products by area: no water, no loads."""
    product = rate.product_on(Amount(job_area_sq_ft, "ft2"))
    job = Job(job_area_sq_ft, Decimal(1), Decimal(1), area_rate=rate, percent_ai=percent_ai)
    return replace(_plan(job, product, ()), finished_gal=Decimal(0), by_area=product)


def _plan(job: Job, product: Amount, loads: tuple[TankLoad, ...]) -> MixPlan:
    per_1000 = product.value * 1000 / job.area_sq_ft
    ai = active_ingredient_lb(product, lb_ai_per_gal=job.lb_ai_per_gal, percent=job.percent_ai)
    return MixPlan(
        area_sq_ft=job.area_sq_ft,
        finished_gal=job.finished_gal,
        product=product,
        by_area=None,
        by_dilution=None,
        difference_percent=None,
        warnings=(),
        loads=loads,
        fill_steps=fill_steps(loads[0]) if loads else (),
        product_per_1000=Amount(per_1000, product.unit),
        product_per_acre=Amount(per_acre(per_1000), product.unit),
        ai_lb=ai,
        ai_lb_per_acre=None if ai is None else per_acre(ai * 1000 / job.area_sq_ft),
    )


def _by_dilution(job: Job) -> Amount | None:
    if job.dilution is None:
        return None
    return dilution_product(job.finished_gal, job.dilution, job.mix_basis)


def dilution_product(finished_gal: Decimal, dilution: Rate, mix_basis: MixBasis) -> Amount:
    """Product in `finished_gal` of spray.

    Made up to a gallon, 1 fl oz is 1 in 128; added to a gallon it is 1 in 129.
    """
    finished = dilution.product_on(Amount(finished_gal, "gal"))
    if mix_basis == MixBasis.PER_FINISHED or finished.kind != "volume":
        return finished
    in_one = dilution.product_on(Amount(Decimal(1), "gal")).to("fl_oz").value
    share = FL_OZ_PER_GAL / (FL_OZ_PER_GAL + in_one)
    return Amount(finished.value * share, finished.unit)


def difference_percent(by_area: Amount | None, by_dilution: Amount | None) -> Decimal | None:
    """How far the dilution is from the area rate, in percent of the area rate."""
    if by_area is None or by_dilution is None or by_area.value == 0:
        return None
    dilution = by_dilution.to(by_area.unit).value
    return (dilution - by_area.value) * 100 / by_area.value


def proposed_amount(wanted: Amount, most: Amount | None, *, is_raised: bool = False) -> Amount:
    """At most 95 % of a maximum, or the maximum itself when raised; never above it."""
    if most is None:
        return wanted
    share = Decimal(1) if is_raised else SHARE_OF_MAXIMUM
    ceiling = most.to(wanted.unit).value * share
    return Amount(min(wanted.value, ceiling), wanted.unit)


def _proposed(job: Job, wanted: Amount) -> Amount:
    return proposed_amount(wanted, _ceiling(job), is_raised=job.is_raised)


def _ceiling(job: Job) -> Amount | None:
    if job.most is None:
        return None
    if job.most.basis == RateBasis.AREA:
        return job.most.product_on(job.area)
    return dilution_product(job.finished_gal, job.most, job.mix_basis)


def round_down(amount: Amount, graduation: Decimal | None) -> Amount:
    """Down to a mark of the measure, never up; refused when the measure is too coarse."""
    if graduation is None:
        return amount
    if graduation <= 0:
        raise Refused("graduation", "The marks of a measure are above zero. Read them again.")
    marks = (amount.value / graduation).to_integral_value(ROUND_FLOOR)
    if marks == 0 and amount.value > 0:
        raise Refused(
            "graduation",
            f"{display(amount, 3, round_down=True)} is less than one mark of this measure, "
            f"{graduation} {unit_word(amount.unit)}. Take a finer measure.",
        )
    return Amount(marks * graduation, amount.unit)


def tank_loads(job: Job, product: Amount) -> tuple[TankLoad, ...]:
    """ceil(V / tank) loads, the last one proportional; refused above 200."""
    count = int((job.finished_gal / job.tank_gal).to_integral_value(ROUND_CEILING))
    if count > MOST_LOADS:
        raise Refused("loads", f"{count:,} loads is no day's work. Check the area and the tank.")
    rest = job.finished_gal - (count - 1) * job.tank_gal
    volumes = [job.tank_gal] * (count - 1) + [rest]
    return tuple(
        _load(number, gallons, job, product) for number, gallons in enumerate(volumes, start=1)
    )


def _load(number: int, gallons: Decimal, job: Job, product: Amount) -> TankLoad:
    share = Amount(product.value * gallons / job.finished_gal, product.unit)
    takes_room = share.to("gal").value if share.kind == "volume" else Decimal(0)
    measured = round_down(share, job.graduation)
    return TankLoad(number, gallons, share, gallons - takes_room, measured)


def _warnings(
    job: Job, difference: Decimal | None, wanted: Amount, product: Amount
) -> tuple[str, ...]:
    found = []
    if difference is not None and abs(difference) > DISAGREEMENT:
        found.append(
            f"The dilution gives {abs(difference):.0f} % {'more' if difference > 0 else 'less'} "
            "product than the rate on the area. Check the calibration and the measured area."
        )
    if product.value < wanted.value and not job.is_raised:
        found.append(
            f"{display(product, round_down=True)} is proposed, 95 % of the label's maximum. "
            "Raise it only with a reason."
        )
    return (*found, *_small_last_load(job))


def _small_last_load(job: Job) -> tuple[str, ...]:
    """A last load under a quarter of the tank is hard to measure (common practice, no source)."""
    full, rest = divmod(job.finished_gal, job.tank_gal)
    if full == 0 or rest == 0 or rest * 4 >= job.tank_gal:
        return ()
    equal = job.finished_gal / (full + 1)
    return (
        f"The last load is only {rest:.2f} gal. Mix {full + 1:.0f} equal loads of "
        f"{equal:.2f} gal, or take a bigger tank.",
    )


def fill_steps(load: TankLoad) -> tuple[str, ...]:
    """Order of filling one load with its safety (common practice, no source; the label governs)."""
    half = f"{load.finished_gal / 2:.2f} gal"
    return (
        "Put on what the label asks for before you open the product.",
        f"Fill half the water, {half}. Keep the hose above the water line.",
        f"Measure {display(load.measured, round_down=True)} below eye level, "
        "in a measure kept for pesticides only.",
        "Pour it in and rinse the measure into the tank.",
        "Close the tank, shake it, let the pressure out.",
        f"Fill with water to the {load.finished_gal:.2f} gal line and shake again.",
    )
