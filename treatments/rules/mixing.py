"""What goes in the tank, or is put out unmixed: product and finished spray of one job.

Formulas: proportion, as in US Army subcourse MD0173, pp. 36 to 43 (read). The rate on the area
is the label's quantity; the dilution must agree with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from accounts.refusals import Refused
from sites.rules.branch_units import US
from sites.rules.branch_units import product as product_words
from sites.rules.units import Amount
from treatments.rules.dilutions import FL_OZ_PER_GAL, active_ingredient_lb, per_acre
from treatments.rules.measures import Measure
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rate_choices import SHARE_OF_MAXIMUM
from treatments.rules.rates import Rate
from treatments.rules.tank_loads import (
    TankLoad,
    fill_steps,
    small_last_load,
    tank_loads,
    under_a_mark,
)

DISAGREEMENT = Decimal(10)  # percent between area rate and dilution (house rule)
READING = Decimal("0.95")  # a mark that near under an amount is the amount (house rule)
A_HAIR = Decimal("0.000001")  # of a gallon
PER_1000_SQ_FT = Amount(Decimal(1000), "ft2")


@dataclass(frozen=True)
class Job:
    """What is to be mixed for.

    `area_sq_ft`; `finished_gal_per_1000` from the calibration; `area_rate` product per area,
    `dilution` product per gallon (one of them at least); `most` the label's maximum; `measure`
    the one on the truck; `is_raised` when the technician asked for more than 95 % of the
    maximum, with a reason; `system` that of the branch.
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
    measure: Measure | None = None
    is_raised: bool = False
    system: str = US

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
class CountedJob:
    """What is put out by area, length, space or count without a calibrated gallonage.

    `size` is measured as `rate` counts; `per_gallon` is product in one gallon as it is put out
    (fogs, mists and drenches have their own dilution; None: unmixed), from a tank of `tank_gal`
    (None: one that takes it all). The rest as in `Job`.
    """

    size: Amount
    rate: Rate
    most: Rate | None = None
    per_gallon: Amount | None = None
    tank_gal: Decimal | None = None
    lb_ai_per_gal: Decimal | None = None
    percent_ai: Decimal | None = None
    measure: Measure | None = None
    is_raised: bool = False
    system: str = US

    def __post_init__(self) -> None:
        if self.size.value <= 0 or (self.tank_gal is not None and self.tank_gal <= 0):
            raise Refused("mix", "Size and tank are above zero. Measure and enter them.")


@dataclass(frozen=True)
class MixPlan:
    """The answer; amounts are exact until shown. A product used unmixed has no loads.

    `size` is what was counted, `per` on how much of it the label counts; `measured` is what is
    really poured, each load rounded down to a mark of `measure`. Where a load holds less than a
    mark the plan is not measurable: its spray must be parted in another way.
    """

    size: Amount
    per: Amount
    finished_gal: Decimal
    product: Amount
    measured: Amount
    measure: Measure | None
    loads: tuple[TankLoad, ...]
    fill_steps: tuple[str, ...]
    ai_lb: Decimal | None
    by_rate: Amount | None = None
    by_dilution: Amount | None = None
    difference_percent: Decimal | None = None
    warnings: tuple[str, ...] = ()

    @property
    def is_measurable(self) -> bool:
        return not any(load.is_under_a_mark for load in self.loads)

    @property
    def least_gal(self) -> Decimal:
        """The least finished spray that holds one mark of product; zero without a measure.

        A hair more than that, so that the share of such a load never comes out a hair under it.
        """
        if self.measure is None or not self.loads or not self.product.value:
            return Decimal(0)
        mark = Amount(self.measure.mark, self.measure.unit).to(self.product.unit).value
        least = mark * self.finished_gal / self.product.value
        return least.quantize(A_HAIR, ROUND_FLOOR) + A_HAIR

    def measured_in(self, gallons: Decimal) -> Amount:
        """The product in so much of the spray, down to a mark; refused under one."""
        share = Amount(self.product.value * gallons / self.finished_gal, self.product.unit)
        return self.measure.down(share) if self.measure else share

    @property
    def meant(self) -> Amount:
        """What the label judges: the amount itself where its reading is at most 5 % lower.

        Else a low rate on a fine measure would always stand a hair under the label's least.
        """
        read = self.measured.to(self.product.unit).value
        return self.product if read >= self.product.value * READING else self.measured

    @property
    def product_per(self) -> Amount:
        """Product on `per` of the size."""
        share = self.per.to(self.size.unit).value / self.size.value
        return Amount(self.product.value * share, self.product.unit)

    @property
    def area_sq_ft(self) -> Decimal | None:
        """The treated area; None where length, space or placements were counted."""
        return self.size.to("ft2").value if self.size.kind == "area" else None

    @property
    def product_per_1000(self) -> Amount | None:
        return replace(self, per=PER_1000_SQ_FT).product_per if self.area_sq_ft else None

    @property
    def product_per_acre(self) -> Amount | None:
        each = self.product_per_1000
        return None if each is None else Amount(per_acre(each.value), each.unit)

    @property
    def ai_lb_per_acre(self) -> Decimal | None:
        if self.ai_lb is None or not self.area_sq_ft:
            return None
        return per_acre(self.ai_lb * 1000 / self.area_sq_ft)


def plan_mix(job: Job) -> MixPlan:
    """Product, loads and order of filling for one job of spray on an area."""
    by_area = job.area_rate.product_on(job.area) if job.area_rate else None
    by_dilution = _by_dilution(job)
    wanted = by_area or by_dilution
    if wanted is None:
        raise Refused("mix", "The label direction has no rate. Choose another direction.")
    product = proposed_amount(wanted, _ceiling(job), is_raised=job.is_raised)
    plan = _plan(job, job.area, product, job.finished_gal, job.tank_gal)
    difference = difference_percent(by_area, by_dilution)
    return replace(
        plan,
        by_rate=by_area,
        by_dilution=by_dilution,
        difference_percent=difference,
        warnings=(*_disagreement(difference), *_held_back(job, wanted, plan), *plan.warnings),
    )


def plan_counted(job: CountedJob) -> MixPlan:
    """Product, and what it is mixed in where the direction has a dilution, by what is counted."""
    wanted = job.rate.product_on(job.size)
    most = job.most.product_on(job.size) if job.most else None
    product = _counted_product(wanted, most, is_raised=job.is_raised)
    finished = Decimal(0)
    if job.per_gallon is not None:
        finished = product.to(job.per_gallon.unit).value / job.per_gallon.value
    plan = _plan(job, job.size, product, finished, job.tank_gal or finished)
    held_back = () if product.unit == "each" else _held_back(job, wanted, plan)
    warnings = (*held_back, *plan.warnings)
    return replace(plan, per=job.rate.per, by_rate=wanted, warnings=warnings)


def _counted_product(wanted: Amount, most: Amount | None, *, is_raised: bool) -> Amount:
    """What is counted is put out whole, down to a piece; a count is exact and needs no margin."""
    is_counted = wanted.unit == "each"
    product = proposed_amount(wanted, most, is_raised=is_raised or is_counted)
    if not is_counted:
        return product
    return Amount(product.value.to_integral_value(ROUND_FLOOR), product.unit)


def _plan(
    job: Job | CountedJob, size: Amount, product: Amount, finished: Decimal, tank: Decimal
) -> MixPlan:
    loads = tank_loads(finished, tank, product, job.measure) if finished else ()
    measured = _measured(product, loads, job.measure)
    return MixPlan(
        size=size,
        per=PER_1000_SQ_FT,
        finished_gal=finished,
        product=product,
        measured=measured,
        measure=job.measure,
        loads=loads,
        fill_steps=fill_steps(loads[0], job.measure, job.system) if loads else (),
        ai_lb=active_ingredient_lb(
            measured, lb_ai_per_gal=job.lb_ai_per_gal, percent=job.percent_ai
        ),
        warnings=(
            under_a_mark(loads, job.measure)
            or (small_last_load(finished, tank, job.system) if finished else ())
        ),
    )


def _measured(product: Amount, loads: tuple[TankLoad, ...], measure: Measure | None) -> Amount:
    """The sum of the loads as measured, or the product by itself where nothing is mixed."""
    if not loads:
        return measure.down(product) if measure else product
    total = sum((load.measured.value for load in loads), Decimal(0))
    return Amount(total, loads[0].measured.unit)


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


def _ceiling(job: Job) -> Amount | None:
    if job.most is None:
        return None
    if job.most.basis == RateBasis.AREA:
        return job.most.product_on(job.area)
    return dilution_product(job.finished_gal, job.most, job.mix_basis)


def _disagreement(difference: Decimal | None) -> tuple[str, ...]:
    if difference is None or abs(difference) <= DISAGREEMENT:
        return ()
    return (
        f"The dilution gives {abs(difference):.0f} % {'more' if difference > 0 else 'less'} "
        "product than the rate on the area. Check the calibration and the measured area.",
    )


def _held_back(job: Job | CountedJob, wanted: Amount, plan: MixPlan) -> tuple[str, ...]:
    if plan.product.value >= wanted.value or job.is_raised:
        return ()
    proposed = product_words(plan.product, job.system, 2, round_down=True)
    return (f"{proposed} is proposed, 95 % of the label's maximum. Raise it only with a reason.",)
