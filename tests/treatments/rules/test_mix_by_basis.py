"""Mix plans on every basis a label counts on, and what always holds of them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import EXACT, KINDS, Amount
from treatments.rules.dilutions import percent_by_weight, placed
from treatments.rules.mixing import CountedJob, Job, dilution_product, plan_counted, plan_mix
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rates import Rate

d = Decimal


def per_gal(value: str, unit: str = "fl_oz") -> Rate:
    return Rate.of(RateBasis.FINISHED_VOLUME, d(value), unit)


def spray(dilution: Rate, **changes: object) -> Job:
    """One thousand square feet at a gallon, from a tank that takes it all."""
    job = Job(d(1000), d(1), d(500), dilution=dilution)
    return replace(job, **changes)  # type: ignore[arg-type]


def test_added_to_a_gallon_is_one_in_129() -> None:
    """Derived (regulations.md 5.3, row 6): 1 fl oz with 128 fl oz of water makes 129."""
    job = spray(per_gal("1"), area_sq_ft=d(129_000), mix_basis=MixBasis.PER_DILUENT)
    plan = plan_mix(job)
    assert plan.finished_gal == 129
    assert plan.product == Amount(d(128), "fl_oz")
    assert plan.loads[0].water_gal == 128  # a whole ounce to each gallon of water


def test_made_up_to_a_gallon_is_one_in_128() -> None:
    plan = plan_mix(spray(per_gal("1"), area_sq_ft=d(129_000)))
    assert plan.product == Amount(d(129), "fl_oz")


def test_percent_by_volume() -> None:
    """Univ. of Georgia (read): 2 % of a 2-gal sprayer is 5.12 fl oz, printed 5.1 (W11)."""
    two_percent = Rate(RateBasis.FINISHED_VOLUME, Amount(d(256), "fl_oz"), Amount(d(100), "gal"))
    assert plan_mix(spray(two_percent, area_sq_ft=d(2000))).product.value == d("5.12")


def test_percent_by_weight() -> None:
    """Univ. of Missouri G7510 (read): 0.5 % of 2 lb per gal is 2 gal in 100, exact 2.085 (W23)."""
    gallons = percent_by_weight(d(100), d("0.5"), d(2))
    dilution = Rate(RateBasis.FINISHED_VOLUME, Amount(gallons, "gal"), Amount(d(100), "gal"))
    job = spray(dilution, area_sq_ft=d(100_000), lb_ai_per_gal=d(2))
    plan = plan_mix(job)
    assert plan.product.value == d("2.085")
    # 100 gal of water weigh 834 lb (8.34 lb per gal, MD0173 p. 43, read); half a percent is 4.17
    assert plan.ai_lb == d("4.17")


def test_dry_product_goes_by_weight_and_takes_no_room() -> None:
    """Texas A&M (read; answer derived): 2 lb per 100 gal in a 500-gal tank are 10 lb."""
    dilution = Rate(RateBasis.FINISHED_VOLUME, Amount(d(2), "lb"), Amount(d(100), "gal"))
    plan = plan_mix(spray(dilution, area_sq_ft=d(500_000), percent_ai=d(10)))
    assert plan.product == Amount(d(10), "lb")
    assert plan.loads[0].water_gal == 500
    assert plan.ai_lb == 1


def test_dry_product_added_to_water_is_not_one_in_129() -> None:
    added = dilution_product(d(129), per_gal("1", "oz_wt"), MixBasis.PER_DILUENT)
    assert added == Amount(d(129), "oz_wt")


def test_granules_by_area() -> None:
    """Derived (trade.md 1.8): 10 % at 2 lb per 1,000 on 12,000 sq ft."""
    rate = Rate.of(RateBasis.AREA, d(2), "lb")
    plan = plan_counted(CountedJob(Amount(d(12000), "ft2"), rate, percent_ai=d(10)))
    assert (plan.product, plan.ai_lb) == (Amount(d(24), "lb"), d("2.4"))


def test_dust_by_area() -> None:
    """Derived (trade.md 1.4): 3.54 g/m2 of 0.05 % dust on 10 m2 are 35.4 g with 17.7 mg."""
    rate = Rate(RateBasis.AREA, Amount(d("3.54"), "g"), Amount(d(1), "m2"))
    plan = plan_counted(CountedJob(Amount(d(10), "m2"), rate, percent_ai=d("0.05")))
    assert plan.product.value.quantize(d("0.000001")) == d("35.4")
    assert plan.ai_lb is not None
    assert Amount(plan.ai_lb, "lb").to("mg").value.quantize(d("0.000001")) == d("17.7")


def test_baits_are_counted() -> None:
    """Cornell pesticide use reporting, unit page (read): count times net weight."""
    assert placed(14, Amount(d("0.5"), "oz_wt")) == Amount(d(7), "oz_wt")
    by_rate = Rate.of(RateBasis.COUNT, d("0.5"), "oz_wt").product_on(Amount(d(14), "each"))
    assert by_rate == placed(14, Amount(d("0.5"), "oz_wt"))


def test_length_and_space() -> None:
    """Page of the trade (read, weak), W27; the space is derived, 960 cu ft of 10 by 8 by 12."""
    assert Rate.of(RateBasis.LINEAR, d(4), "gal").product_on(Amount(d(180), "lf")).value == 72
    fog = Rate.of(RateBasis.SPACE_VOLUME, d(2), "fl_oz")
    assert fog.product_on(Amount(d(960), "ft3")).value == d("1.92")


some = st.decimals(d("0.01"), d("2000"), places=2)
gallons_per_1000 = st.decimals(d("0.1"), d(10), places=1)


@given(some, gallons_per_1000, some)
def test_area_rate_and_dilution_agree_when_the_output_is_the_calibrated_one(
    area: Decimal, gallons: Decimal, per_gallon: Decimal
) -> None:
    """The same direction said both ways: product per gallon times gallons per 1,000 sq ft."""
    rate = Rate.of(RateBasis.AREA, per_gallon * gallons, "fl_oz")
    both = Job(area, gallons, d(500), area_rate=rate, dilution=per_gal(str(per_gallon)))
    plan = plan_mix(both)
    assert plan.difference_percent is not None and abs(plan.difference_percent) < d("1e-20")
    assert not any("dilution" in warning for warning in plan.warnings)


@given(some, some, st.integers(2, 9))
def test_a_larger_area_takes_as_much_more(area: Decimal, rate: Decimal, times: int) -> None:
    job = Job(area, d(1), d(500), area_rate=Rate.of(RateBasis.AREA, rate, "mL"))
    once, more = plan_mix(job), plan_mix(replace(job, area_sq_ft=area * times))
    step = d("1e-15")
    assert more.product.value.quantize(step) == (once.product.value * times).quantize(step)
    assert more.finished_gal == once.finished_gal * times


UNITS = sorted(KINDS)


@given(st.sampled_from(UNITS), st.sampled_from(UNITS), st.decimals(0, 10**6, places=6))
def test_there_and_back_keeps_every_digit_that_can_be_typed(
    one: str, other: str, value: Decimal
) -> None:
    """A liter is no whole number of cups: 80 digits are kept, six are typed (whole units round
    trip exactly in tests/sites/rules/test_units.py)."""
    if KINDS[one] == KINDS[other]:
        back = Amount(value, one).to(other).to(one).value
        assert back.quantize(d("1e-40"), context=EXACT) == value
