"""Rates offered, measures on the truck and measured sprayers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.units import KINDS, Amount
from treatments.rules.measures import MEASURES, Measure, measure_named, measures_for, reading
from treatments.rules.mixing import CountedJob, Job, plan_counted, plan_mix
from treatments.rules.products import RateBasis
from treatments.rules.rate_choices import RateChoice, offered_or_low, rate_choices, wanted_rate
from treatments.rules.rates import Rate
from treatments.rules.sprayers import (
    SEASON_DAYS,
    Sprayer,
    measurement_warnings,
    output_warnings,
)

d = Decimal
TODAY = date(2026, 11, 25)
CAN = Sprayer(
    "Can 1",
    d(1),
    d("1.25"),
    TODAY - timedelta(days=SEASON_DAYS),
    nozzle="fan 8002",
    pressure_psi=d(20),
    measured_nozzle="fan 8002",
    measured_pressure_psi=d(20),
)


def test_a_direction_with_a_range_offers_four_rates() -> None:
    """Low or middle; the high one stays 5 % under the maximum (house rule)."""
    assert rate_choices(d("0.5"), d(1)) == {
        RateChoice.LOW: d("0.5"),
        RateChoice.MIDDLE: d("0.75"),
        RateChoice.HIGH: d("0.95"),
        RateChoice.MOST: d(1),
    }


@pytest.mark.parametrize("least", [None, d(1)])
def test_a_direction_without_a_low_rate_offers_two(least: Decimal | None) -> None:
    assert rate_choices(least, d(1)) == {RateChoice.LOW: d("0.95"), RateChoice.MOST: d(1)}
    assert wanted_rate(least, d(1), RateChoice.LOW) == 1


def test_a_choice_of_another_direction_falls_back_to_the_low_rate() -> None:
    assert offered_or_low("middle", d("0.5"), d(1)) == RateChoice.MIDDLE
    assert offered_or_low("middle", None, d(1)) == RateChoice.LOW
    assert offered_or_low("helicopter", d("0.5"), d(1)) == RateChoice.LOW


rates = st.decimals(d("0.01"), d(50), places=2)
choices = st.sampled_from(RateChoice)
volumes = st.sampled_from([None, *measures_for("fl_oz")])


@given(rates, rates, st.decimals(d("0.1"), d("9000"), places=1), choices, volumes, rates)
def test_what_is_poured_never_passes_its_ceiling(
    one: Decimal,
    other: Decimal,
    area: Decimal,
    choice: RateChoice,
    measure: Measure | None,
    tank: Decimal,
) -> None:
    """By the label check's own exact comparison: 95 % of the maximum, or all of it when raised."""
    least, most = sorted((one, other))
    is_raised = choice == RateChoice.MOST
    job = Job(
        area,
        d(1),
        max(tank, area / 1000),
        area_rate=Rate.of(RateBasis.AREA, wanted_rate(least, most, choice), "fl_oz"),
        most=Rate.of(RateBasis.AREA, most, "fl_oz"),
        measure=measure,
        is_raised=is_raised,
    )
    ceiling = Rate.of(RateBasis.AREA, most if is_raised else most * d("0.95"), "fl_oz")
    try:
        plan = plan_mix(job)
    except Refused as refused:
        assert refused.code == "measure"
        return
    assert plan.measured.to("fl_oz").value <= plan.product.value * (1 + d("1e-25"))
    assert plan.measured.exact <= ceiling.product_on(job.area).exact * (1 + d("1e-25"))
    if measure and plan.is_measurable:
        assert plan.measured.value % measure.mark == 0
        assert ceiling.compare(plan.measured, job.area) <= 0


@given(rates, st.decimals(d("0.1"), d("9000"), places=1), st.sampled_from(measures_for("g")))
def test_what_is_weighed_never_passes_its_ceiling(
    most: Decimal, space: Decimal, scale: Measure
) -> None:
    rate = Rate.of(RateBasis.SPACE_VOLUME, most, "oz_wt")
    size = Amount(space, "ft3")
    try:
        plan = plan_counted(CountedJob(size, rate, most=rate, measure=scale))
    except Refused as refused:
        assert refused.code == "measure"
        return
    ceiling = Rate.of(RateBasis.SPACE_VOLUME, most * d("0.95"), "oz_wt")
    assert ceiling.compare(plan.measured, size) <= 0


def test_down_to_a_mark() -> None:
    """0.54 fl oz are 15.9697 mL (regulations.md 5.3, row 2): 15 on marks of 1 or 5, 10 of 10."""
    amount = Amount(d("0.54"), "fl_oz")
    for mark, read in (("1", "15"), ("5", "15"), ("10", "10")):
        assert Measure("mL", d(mark)).down(amount) == Amount(d(read), "mL")
    assert Measure("fl_oz", d("0.25")).down(amount) == Amount(d("0.50"), "fl_oz")


def test_a_reading_a_hair_lower_is_the_amount_meant() -> None:
    """House rule: 15 of 15.97 mL are 6 % lower, 15.9 are nothing to speak of."""
    job = Job(d(1080), d(1), d(2), area_rate=Rate.of(RateBasis.AREA, d("0.5"), "fl_oz"))
    coarse = plan_mix(replace(job, measure=Measure("mL", d(5))))
    assert coarse.meant == coarse.measured == Amount(d(15), "mL")
    fine = plan_mix(replace(job, measure=Measure("mL", d("0.1"))))
    assert (fine.meant, fine.measured) == (fine.product, Amount(d("15.9"), "mL"))
    assert plan_mix(job).meant == Amount(d("0.54"), "fl_oz")


def test_a_measure_too_coarse_says_so() -> None:
    with pytest.raises(Refused, match="Take a finer measure") as refused:
        Measure("fl_oz", d(1)).down(Amount(d("0.54"), "fl_oz"))
    assert refused.value.facts == {"field": "measure"}
    with pytest.raises(Refused, match="above zero"):
        Measure("mL", d(0))


def test_a_measure_fits_the_kind_of_the_label_unit() -> None:
    assert measure_named("fl_oz-0.5", "fl_oz") == Measure("fl_oz", d("0.5"))
    assert measure_named("fl_oz-0.5", "g") == Measure("g", d("0.1"))
    assert measure_named("", "gal") == Measure("fl_oz", d(1))
    assert measure_named("bucket", "lb") == Measure("oz_wt", d("0.1"))
    assert measure_named("mL-1", "each") is None
    assert {one.kind for one in MEASURES} == {"volume", "mass"}


@pytest.mark.parametrize("unit", [unit for unit in KINDS if KINDS[unit] in ("volume", "mass")])
def test_every_unit_of_a_product_has_a_measure(unit: str) -> None:
    assert measure_named("", unit) in measures_for(unit)


def test_readings() -> None:
    amount = Amount(d("15"), "mL")
    assert reading(amount, Measure("mL", d(1))) == "15 mL"
    assert reading(Amount(d("0.5"), "fl_oz"), Measure("fl_oz", d("0.25"))) == "0.50 fl oz"
    assert reading(Amount(d("1.429"), "fl_oz"), None) == "1.42 fl oz"


def test_a_measured_sprayer_has_nothing_to_be_said() -> None:
    assert measurement_warnings(CAN, TODAY) == ()
    assert output_warnings(CAN, d(1), d(2)) == output_warnings(CAN, None, None) == ()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"gal_per_1000": None}, "never measured"),
        ({"measured_on": TODAY - timedelta(days=SEASON_DAYS + 1)}, "longer ago than a season"),
        ({"nozzle": "cone"}, "measured with nozzle fan 8002 and has cone now"),
        ({"pressure_psi": d(40)}, "measured at 20 psi and works at 40 psi now"),
    ],
)
def test_when_to_measure_again(changes: dict[str, object], says: str) -> None:
    """Recalibrate each season and after a change of nozzle (trade.md 1.9: from memory)."""
    (said,) = measurement_warnings(replace(CAN, **changes), TODAY)  # type: ignore[arg-type]
    assert says in said


def test_what_nobody_wrote_down_is_not_called_changed() -> None:
    silent = replace(CAN, measured_nozzle="", measured_pressure_psi=None)
    assert measurement_warnings(silent, TODAY) == ()


@pytest.mark.parametrize(
    ("least", "most", "says"),
    [("1.26", None, "too concentrated"), (None, "1.24", "Too much water"), ("1.25", "1.25", "")],
)
def test_an_output_outside_the_label(least: str | None, most: str | None, says: str) -> None:
    """Below the label's water range the mix is too concentrated (trade.md 1.9: read)."""
    said = output_warnings(CAN, d(least) if least else None, d(most) if most else None)
    assert says in " ".join(said) and bool(said) == bool(says)


def test_a_fog_is_mixed_to_its_own_dilution() -> None:
    """Derived: 2 fl oz per 1,000 cu ft on 3,000 cu ft are 6 fl oz; at 4 fl oz a gallon 1.5 gal."""
    rate = Rate.of(RateBasis.SPACE_VOLUME, d(2), "fl_oz")
    job = CountedJob(Amount(d(3000), "ft3"), rate, per_gallon=Amount(d(4), "fl_oz"), tank_gal=d(1))
    plan = plan_counted(job)
    assert (plan.product.value, plan.finished_gal) == (6, d("1.5"))
    assert [load.product.value for load in plan.loads] == [4, 2]
    assert plan.product_per == Amount(d(2), "fl_oz")
    assert plan.area_sq_ft is plan.product_per_1000 is plan.ai_lb_per_acre is None
    with pytest.raises(Refused, match="above zero"):
        replace(job, tank_gal=d(0))
