"""Published worked examples W1 to W28 with their printed rounding; the source stands in each.

Each answer was read in its source unless it says derived. The areas of W1 and W24 are in
tests/sites/rules/test_measurements.py.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.refusals import Refused
from sites.rules.measurements import band_area, rectangle_perimeter
from sites.rules.units import Amount
from treatments.rules.calibration import (
    TEST_PLOT_SQ_FT,
    course_length_ft,
    flow_ml_per_second,
    gallons_per_1000,
    linear_volume_gal,
    plot_gallons_per_acre,
    product_per_gallon,
    seconds_for,
)
from treatments.rules.dilutions import (
    LB_WATER_PER_GAL,
    active_ingredient_lb,
    allowed_on,
    dry_concentrate,
    per_1000_sq_ft,
    per_acre,
    percent_by_volume,
    percent_by_weight,
    percent_in_finished,
    placed,
)
from treatments.rules.products import RateBasis
from treatments.rules.rates import Rate


def d(text: str) -> Decimal:
    return Decimal(text)


def near(value: Decimal, printed: str) -> bool:
    """Equal once rounded to the digits that were printed."""
    return value.quantize(Decimal(printed)) == Decimal(printed)


def pints(value: str, unit: str) -> Decimal:
    return Amount(d(value), "pt").to(unit).value


def test_w1_gallons_for_a_field() -> None:
    """US Army subcourse MD0173, p. 39."""
    gallons = Rate.of(RateBasis.AREA, d("1"), "gal").product_on(Amount(d("45000"), "ft2"))
    assert gallons == Amount(d("45"), "gal")


def test_w2_one_percent_from_48() -> None:
    """US Army subcourse MD0173, p. 36; the rest of water is exact, 53.9 as printed."""
    concentrate = percent_by_volume(d("55"), d("1"), d("48"))
    assert near(concentrate, "1.146") and near(55 - concentrate, "53.854")


def test_w3_dust() -> None:
    """US Army subcourse MD0173, p. 36."""
    powder = Amount(dry_concentrate(d("10"), d("5"), d("80")), "lb")
    assert powder.value == d("0.625")
    assert powder.to("oz_wt").value == 10
    assert Amount(10 - powder.value, "lb").to("oz_wt").value == 9 * 16 + 6


def test_w4_dust_per_acre() -> None:
    """US Army subcourse MD0173, p. 43."""
    assert d("10") * 100 / 5 == 200
    assert active_ingredient_lb(Amount(d("200"), "lb"), percent=d("5")) == 10


def test_w5_emulsion_per_acre() -> None:
    """US Army subcourse MD0173, p. 43; printed 0.6."""
    gallons = d("0.3") / (LB_WATER_PER_GAL * 6 / 100)
    assert near(gallons, "0.5995")
    assert near(percent_by_weight(gallons, d("6"), d("1")), "0.3")


@pytest.mark.parametrize("ounces", ["31", "150", "7.5"])
def test_w6_w7_w9_ounces_of_the_test_plot(ounces: str) -> None:
    """Kansas State hand sprayer worksheet; Mesa County, CO; NC State backpack worksheet."""
    caught = Amount(d(ounces), "fl_oz").to("gal").value
    by_area = per_acre(gallons_per_1000(caught, TEST_PLOT_SQ_FT))
    assert near(by_area, f"{d(ounces):.3f}")
    assert plot_gallons_per_acre(d(ounces)) == d(ounces)


def test_w7_a_tank_covers_a_sixth() -> None:
    """Mesa County, CO, calibrating a hand gun."""
    assert 25 / plot_gallons_per_acre(d("150")) == Decimal(1) / 6


def test_w8_course() -> None:
    """NC State backpack worksheet; printed 57."""
    assert near(course_length_ft(d("6")), "56.67")


def test_w10_backpack() -> None:
    """NC State backpack worksheet; printed 1.06 oz, 3.2 oz and 96 mL."""
    per_gallon = product_per_gallon(d("8"), d("7.5"))
    assert near(per_gallon, "1.0667") and near(3 * per_gallon, "3.2")
    assert near(3 * per_gallon * 30, "96")


def test_w11_percent_from_acre_rate() -> None:
    """Univ. of Georgia, hand-held sprayers; printed 5.1."""
    strength = product_per_gallon(pints("4", "gal"), d("25")) * 100
    assert strength == 2
    ounces = percent_by_volume(Amount(d("2"), "gal").to("fl_oz").value, d("2"), d("100"))
    assert ounces == d("5.12")


@pytest.mark.parametrize(
    ("acre", "exact", "printed"), [("4", "1.469", "1.5"), ("3.6", "1.322", "1.3")]
)
def test_w12_w14_pints_per_acre(acre: str, exact: str, printed: str) -> None:
    """Univ. of Georgia, hand-held sprayers; Oklahoma State turf calibration."""
    ounces = per_1000_sq_ft(pints(acre, "fl_oz"))
    assert near(ounces, exact) and near(ounces, printed)


def test_w13_gallons_per_acre() -> None:
    """Oklahoma State turf calibration; printed 0.92."""
    assert near(per_1000_sq_ft(d("40")), "0.9183")


def test_w15_order() -> None:
    """Oklahoma State turf calibration."""
    assert pints("3.6", "gal") * 25 == d("11.25")


def test_w16_gallons_to_an_acre() -> None:
    """Archived extension text of 2009; printed 65."""
    assert per_acre(d("1.5")) == d("65.34")


def test_w17_per_gallon() -> None:
    """Archived extension text of 2009."""
    each = Amount(product_per_gallon(d("3"), d("65")), "pt")
    assert near(each.value, "0.046") and near(each.to("fl_oz").value, "0.74")
    assert near(each.to("tbsp").value, "1.5")


def test_w18_six_trees() -> None:
    """Pesticide Environmental Stewardship, hose-end calibration."""
    assert Amount(d("2") * 6, "qt").to("gal").value == 3


@pytest.mark.parametrize(("strength", "ml"), [("1", "86.9"), ("2", "43.5"), ("4", "21.7")])
def test_w19_one_pound_an_acre_liquid(strength: str, ml: str) -> None:
    """PNW Handbooks; printed 87, 43 and 22, exact derived."""
    gallons = per_1000_sq_ft(1 / d(strength))
    assert near(Amount(gallons, "gal").to("mL").value, ml)


@pytest.mark.parametrize(("percent", "grams"), [("100", "10.41"), ("50", "20.83")])
def test_w20_one_pound_an_acre_dry(percent: str, grams: str) -> None:
    """PNW Handbooks; printed 10 and 21, exact derived."""
    pounds = per_1000_sq_ft(100 / d(percent))
    assert near(Amount(pounds, "lb").to("g").value, grams)


def test_w21_pints_per_acre() -> None:
    """PNW Handbooks."""
    assert Amount(1 / d("4"), "gal").to("pt").value == 2


@pytest.mark.parametrize(
    ("percent", "strength", "printed_gal"),
    [("0.0625", "1", "0.5"), ("0.5", "2", "2"), ("1.0", "4", "2")],
)
def test_w22_w23_by_weight(percent: str, strength: str, printed_gal: str) -> None:
    """Univ. of Missouri G7510, which rounds by about 4 %."""
    gallons = percent_by_weight(d("100"), d(percent), d(strength))
    assert abs(gallons - d(printed_gal)) <= d(printed_gal) * 5 / 100


def test_w25_wettable_powder() -> None:
    """A question and answer of the trade (weak source)."""
    assert active_ingredient_lb(Amount(d("14.8"), "oz_wt"), percent=d("10")) == d("1.48") / 16
    scoop = active_ingredient_lb(Amount(d("10"), "g"), percent=d("10"))
    assert scoop is not None
    assert near(Amount(scoop, "lb").to("g").value, "1.000000")


@pytest.mark.parametrize(("grams", "exact"), [("9.5", "0.1023"), ("19", "0.2045")])
def test_w26_grams_per_square_meter(grams: str, exact: str) -> None:
    """USDA-ARS slides; printed 0.1 and 0.2, exact derived."""
    rate = Rate.of(RateBasis.AREA, d(grams), "g")
    assert near(rate.product_on(Amount(d("1"), "m2")).value, exact)


@pytest.mark.parametrize(("feet", "gallons"), [("180", "72"), ("402", "160.8")])
def test_w27_linear(feet: str, gallons: str) -> None:
    """A page of the trade (weak source); the rate also in a state exam item."""
    assert linear_volume_gal(d(feet), d("4")) == d(gallons)
    by_rate = Rate.of(RateBasis.LINEAR, d("4"), "gal").product_on(Amount(d(feet), "lf"))
    assert by_rate.value == d(gallons)


def test_w28_horizontal() -> None:
    """A page of the trade (weak source)."""
    rate = Rate(RateBasis.AREA, Amount(d("1"), "gal"), Amount(d("10"), "ft2"))
    assert rate.product_on(Amount(d("6000"), "ft2")).value == 600


def test_a_published_example_that_is_wrong() -> None:
    """UF/IFAS WG217 prints "about 7 fl oz" for 10 gallons; it is 8.0 (derived)."""
    dilution = Rate(RateBasis.FINISHED_VOLUME, Amount(d("32"), "fl_oz"), Amount(d("40"), "gal"))
    assert dilution.product_on(Amount(d("10"), "gal")).value == d("8.0")
    assert near(Amount(d("47.5"), "tsp").to("fl_oz").value, "7.92")


def test_granules() -> None:
    """Derived: 10 % granule at 2 lb per 1,000 on 12,000 sq ft."""
    rate = Rate.of(RateBasis.AREA, d("2"), "lb")
    assert rate.product_on(Amount(d("12000"), "ft2")).value == 24
    ai = active_ingredient_lb(Amount(d("2"), "lb"), percent=d("10"))
    assert ai == d("0.2") and per_acre(ai) == d("8.712")


def test_hand_sprayer_flow() -> None:
    """7 mL/s at 20 psi: panel study of 1988 (read); a gallon takes 541 s (derived)."""
    assert near(seconds_for(d("1"), flow_ml_per_second(d("70"), d("10"))), "541")


def test_acre_label_on_a_small_job() -> None:
    """Derived: 0.2 lb x 1,080 / 43,560."""
    assert near(allowed_on(d("1080"), d("0.2")), "0.00495867768595")


def test_percent_of_finished() -> None:
    """Derived: 1 / 128, and 0.33 fl oz by NIST Handbook 44, Appendix C."""
    percent = percent_in_finished(Amount(d("1"), "fl_oz"), Amount(d("1"), "gal"))
    assert percent == d("0.78125")
    per_gallon = Amount(d("0.33"), "fl_oz").to("mL").value
    assert per_gallon == d("9.759264755625")
    assert per_gallon / Amount(d("1"), "gal").to("L").value == d("2.578125")


def test_baits_are_count_times_net() -> None:
    """Count times net weight: Cornell pesticide use reporting, unit page."""
    assert placed(14, Amount(d("0.5"), "oz_wt")) == Amount(d("7.0"), "oz_wt")
    with pytest.raises(Refused):
        placed(-1, Amount(d("0.5"), "oz_wt"))


def test_refused_strengths() -> None:
    with pytest.raises(Refused, match="never stronger"):
        percent_by_volume(d("10"), d("50"), d("25"))
    with pytest.raises(Refused, match="more than zero"):
        gallons_per_1000(d("1"), d("0"))
    assert active_ingredient_lb(Amount(d("1"), "gal"), percent=d("5")) is None


@pytest.mark.parametrize(
    ("computed", "answer"),
    [
        # a fence of 200 by 300 ft, six inches on both sides, corners ignored
        (rectangle_perimeter(d("200"), d("300")), "1000"),
        (band_area(rectangle_perimeter(d("200"), d("300")), d("0.5"), d("0.5")), "1000"),
        # 25 % concentrate down to 1 % in 50 gal
        (percent_by_volume(d("50"), d("1"), d("25")), "2"),
        # Texas A&M: 2 lb on 100 gal in a tank of 500
        (d("2") * 500 / 100, "10"),
    ],
    ids=("run", "area", "concentrate", "tank"),
)
def test_exam_items_whose_answer_was_not_seen(computed: Decimal, answer: str) -> None:
    """Exam practice and Texas A&M: the problems were read, the answers are derived."""
    assert computed == d(answer)


def test_a_spreader_is_calibrated_by_what_it_lost() -> None:
    """A known swath over 1,000 sq ft from 10 lb (read); 7.7 lb left are 2.3 lb (derived)."""
    swath, lost = d("8"), d("10") - d("7.7")
    assert course_length_ft(swath, plot_sq_ft=d("1000")) == d("125")
    assert Rate.of(RateBasis.AREA, lost, "lb").product_on(Amount(d("1000"), "ft2")).value == lost


def test_one_percent_weight_in_volume() -> None:
    """1 % of weight in volume is 10 g a liter, 1.34 oz (weight) a gallon as printed (read)."""
    a_gallon = Amount(Amount(d("1"), "gal").to("L").value * 10, "g")
    assert near(a_gallon.to("oz_wt").value, "1.34")
