"""Mix plans: house band, label arithmetic, loads and what a proposal never does."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.measurements import band_area, rectangle_perimeter
from sites.rules.units import Amount
from treatments.rules.dilutions import percent_by_weight
from treatments.rules.measures import Measure
from treatments.rules.mixing import (
    CountedJob,
    Job,
    dilution_product,
    plan_counted,
    plan_mix,
    proposed_amount,
)
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rates import Rate


def d(text: str) -> Decimal:
    return Decimal(text)


def per_1000(value: str) -> Rate:
    return Rate.of(RateBasis.AREA, d(value), "fl_oz")


def per_gal(value: str) -> Rate:
    return Rate.of(RateBasis.FINISHED_VOLUME, d(value), "fl_oz")


HOUSE = Job(
    d("1600"),
    d("1"),
    d("1"),
    area_rate=per_1000("1.0"),
    dilution=per_gal("1.0"),
    lb_ai_per_gal=Decimal(2) / 3,
)


def test_full_structural_oracle() -> None:
    """Derived: house 60 x 40, 3 ft up and 5 ft out; 2/3 lb per gal and 43,560 sq ft an acre."""
    plan = plan_mix(HOUSE)
    assert plan.finished_gal == d("1.60")
    assert plan.product == Amount(d("1.60"), "fl_oz")
    assert plan.ai_lb is not None and plan.ai_lb_per_acre is not None
    assert plan.ai_lb.quantize(d("0.0000001")) == d("0.0083333")
    assert Amount(plan.ai_lb, "lb").to("g").value.quantize(d("0.0001")) == d("3.7799")
    assert [load.finished_gal for load in plan.loads] == [d("1"), d("0.6")]
    assert [load.product.value for load in plan.loads] == [d("1"), d("0.6")]
    assert plan.ai_lb_per_acre.quantize(d("0.000001")) == d("0.226875")
    assert (4 * plan.ai_lb_per_acre).quantize(d("0.0001")) == d("0.9075")
    assert plan.product_per_acre.value == d("43.56")
    assert plan.difference_percent == 0 and plan.warnings == ()


def test_common_practice_gallon() -> None:
    """Common practice, no source: 1 fl oz per gallon treats 1,000 sq ft."""
    job = Job(d("1000"), d("1"), d("1"), dilution=per_gal("1"))
    plan = plan_mix(job)
    assert plan.product_per_1000 == Amount(d("1"), "fl_oz") and len(plan.loads) == 1


def test_common_practice_band() -> None:
    """Common practice, no source: 3 ft up and 3 ft out; on 200 ft 1.2 gal and 1.2 fl oz."""
    area = band_area(rectangle_perimeter(d("60"), d("40")), d("3"), d("3"))
    plan = plan_mix(Job(area, d("1"), d("1"), area_rate=per_1000("1"), dilution=per_gal("1")))
    assert area == 1200
    assert plan.finished_gal == d("1.2") and plan.product == Amount(d("1.2"), "fl_oz")
    assert [load.finished_gal for load in plan.loads] == [d("1"), d("0.2")]


def test_label_arithmetic() -> None:
    """Derived with exact decimals from NIST Handbook 44, Appendix C."""
    job = Job(d("1080"), d("1"), d("2"), area_rate=per_1000("0.5"), lb_ai_per_gal=d("0.66"))
    plan = plan_mix(job)
    assert plan.product.value == d("0.540")
    assert plan.product.to("mL").value == d("15.96970596375")
    assert Amount(plan.finished_gal, "gal").to("fl_oz").value == d("138.24")
    assert Amount(plan.loads[0].water_gal, "gal").to("fl_oz").value == d("137.70")
    assert plan.ai_lb == d("0.002784375")


def test_made_up_to_and_added_to_a_gallon() -> None:
    """Derived: 1 in 128 and 1 in 129."""
    made_up = dilution_product(d("129"), per_gal("1"), MixBasis.PER_FINISHED)
    added = dilution_product(d("129"), per_gal("1"), MixBasis.PER_DILUENT)
    assert made_up.value == 129
    assert added.value == 128


def test_fipronil_band() -> None:
    """0.06 % at 1.5 gal per 1,000 sq ft: ICUP abstract 20, Nishimura et al. (read).

    Derived: 400 sq ft take 0.6 gal; at 8.34 lb a gallon of water 0.0030024 lb of active ingredient.
    """
    job = Job(d("400"), d("1.5"), d("1"), dilution=per_gal("1"))
    assert plan_mix(job).finished_gal == d("0.6")
    ai_lb = percent_by_weight(plan_mix(job).finished_gal, d("0.06"), d("1"))
    assert ai_lb == d("0.0030024")


@pytest.mark.parametrize(
    ("dilution", "warned"), [("1.1", 0), ("1.11", 1), ("0.9", 0), ("0.89", 1), ("2", 1)]
)
def test_dilution_against_area(dilution: str, warned: int) -> None:
    plan = plan_mix(replace(HOUSE, dilution=per_gal(dilution)))
    assert len(plan.warnings) == warned
    assert plan.product.value == d("1.6")  # the area rate is the legal quantity


def test_a_proposal_stays_under_the_maximum() -> None:
    plan = plan_mix(replace(HOUSE, most=per_1000("1.0"), measure=Measure("fl_oz", d("0.1"))))
    assert plan.product.value == d("1.52")
    assert [load.measured.value for load in plan.loads] == [d("0.9"), d("0.5")]
    assert plan.measured.value == d("1.4")
    assert "95 %" in plan.warnings[0]
    raised = plan_mix(replace(HOUSE, most=per_1000("1.0"), is_raised=True))
    assert raised.product.value == d("1.6") and raised.warnings == ()


@pytest.mark.parametrize(("tank", "warned"), [("1.5", True), ("1.28", False), ("2", False)])
def test_a_small_last_load_is_said(tank: str, warned: bool) -> None:
    """1.6 gal: 0.1 left of 1.5 is under a quarter, 0.32 of 1.28 is just a quarter."""
    plan = plan_mix(replace(HOUSE, tank_gal=d(tank)))
    rest = "The last load is only 0.10 gal, under a quarter of the tank: hard to measure."
    assert plan.warnings == ((rest,) if warned else ())


def test_a_load_under_a_mark_is_named_and_the_rest_stays_measured() -> None:
    """1.6 gal in a 1.5-gal tank: the last 0.1 gal take 0.1 fl oz, under a mark of 0.25 fl oz."""
    plan = plan_mix(replace(HOUSE, tank_gal=d("1.5"), measure=Measure("fl_oz", d("0.25"))))
    assert [load.is_under_a_mark for load in plan.loads] == [False, True]
    assert [load.measured.value for load in plan.loads] == [d("1.5"), d("0.1")]
    assert not plan.is_measurable
    assert "Load 2 takes less than one mark of this measure, 0.25 fl oz." in plan.warnings[0]
    # derived: 0.25 fl oz are in 0.25 gal; a hair more, so that a share is never a hair less
    assert d("0.25") < plan.least_gal < d("0.2501")
    assert plan_mix(HOUSE).least_gal == 0 and plan_mix(HOUSE).is_measurable


def test_what_no_load_can_hold_is_never_said_as_a_number() -> None:
    """2 gal in 1-gal tanks: no tank holds a mark of 1.5 fl oz, a bigger one would."""
    job = replace(HOUSE, area_sq_ft=d("2000"), measure=Measure("fl_oz", d("1.5")))
    steps = plan_mix(job).fill_steps
    assert steps[2].startswith("Measure the amount listed below eye level")


positive = st.decimals(d("0.01"), d("5000"), places=2)


@given(positive, positive, st.decimals(d("0.01"), d("2"), places=2), st.booleans())
def test_never_above_a_maximum(wanted: Decimal, most: Decimal, mark: Decimal, up: bool) -> None:
    proposed = proposed_amount(Amount(wanted, "mL"), Amount(most, "mL"), is_raised=up)
    assert proposed.value <= most
    try:
        assert Measure("mL", mark).down(proposed).value <= proposed.value
    except Refused as refused:
        assert refused.code == "measure" and proposed.value < mark


@given(st.decimals(d("1"), d("9000"), places=1), st.decimals(d("1"), d("100"), places=1))
def test_loads_add_up(area: Decimal, tank: Decimal) -> None:
    plan = plan_mix(replace(HOUSE, area_sq_ft=area, tank_gal=tank))
    step = d("0.000000000001")
    assert sum(load.finished_gal for load in plan.loads) == plan.finished_gal
    total = sum((load.product.value for load in plan.loads), Decimal(0))
    assert total.quantize(step) == plan.product.value.quantize(step)
    assert all(0 < load.finished_gal <= tank for load in plan.loads)


def test_fill_order() -> None:
    """Common practice, no source: half the water, product, rest of the water."""
    steps = plan_mix(HOUSE).fill_steps
    assert "half the water, 0.50 gal" in steps[1] and "hose above the water line" in steps[1]
    assert "1.00 fl oz below eye level" in steps[2]
    assert "1.00 gal line" in steps[-1]


def granules(area: str, rate: str, percent: str) -> CountedJob:
    by_area = Rate.of(RateBasis.AREA, d(rate), "lb")
    return CountedJob(Amount(d(area), "ft2"), by_area, percent_ai=d(percent))


def test_granules_take_no_water() -> None:
    plan = plan_counted(granules("12000", "2", "10"))
    assert plan.product == Amount(d("24"), "lb") == plan.measured
    assert (plan.loads, plan.fill_steps, plan.finished_gal) == ((), (), 0)
    assert plan.ai_lb_per_acre == d("8.712")


def test_dry_product_in_water() -> None:
    job = Job(d("1000"), d("1"), d("1"), area_rate=Rate.of(RateBasis.AREA, d("9.5"), "g"))
    load = plan_mix(job).loads[0]
    assert (load.product.value, load.water_gal) == (d("9.5"), 1)


@pytest.mark.parametrize(
    "wrong",
    [
        {"area_sq_ft": d("0")},
        {"tank_gal": d("-1")},
        {"area_rate": None, "dilution": None},
    ],
)
def test_refused_jobs(wrong: dict[str, Decimal]) -> None:
    with pytest.raises(Refused):
        replace(HOUSE, **wrong)


def test_refused_plans() -> None:
    with pytest.raises(Refused, match="finer measure"):
        plan_mix(replace(HOUSE, measure=Measure("fl_oz", d("5"))))
    with pytest.raises(Refused, match="no day's work"):
        plan_mix(replace(HOUSE, area_sq_ft=d("900000")))


def test_rates_compare_exactly() -> None:
    """Derived: 0.80 is over 0.67; 0.66 is within; equal passes."""
    most, area = per_1000("0.67"), Amount(d("1000"), "ft2")
    assert most.compare(Amount(d("0.80"), "fl_oz"), area) == 1
    assert (most.applied(Amount(d("0.80"), "fl_oz"), area) / d("0.67") - 1).quantize(
        d("0.001")
    ) == d("0.194")
    assert most.compare(Amount(d("0.66"), "fl_oz"), area) == -1
    assert most.compare(Amount(d("0.67"), "fl_oz"), area) == 0
    assert most.compare(Amount(d("0.670001"), "fl_oz"), area) == 1
    assert per_1000("1").compare(Amount(d("0.33"), "fl_oz"), Amount(d("330"), "ft2")) == 0


def test_rate_words_and_refusals() -> None:
    assert per_1000("1").words == "1.00 fl oz per 1,000 sq ft"
    assert per_gal("0.125").words == "0.125 fl oz per gal"
    assert Rate.of(RateBasis.PERCENT, d("0.5"), "fl_oz").words == "0.5 %"
    with pytest.raises(Refused, match="label counts fl oz"):
        per_1000("1").compare(Amount(d("1"), "oz_wt"), Amount(d("1"), "ft2"))
    with pytest.raises(Refused, match="not counted per"):
        Rate(RateBasis.AREA, Amount(d("1"), "fl_oz"), Amount(d("1"), "gal"))
