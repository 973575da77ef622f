"""W1 to W28 of reference/trade.md 1.3 as printed, each with its source and what printing lost.

`lost` is how far the printed answer may be from the exact one: half of the last digit printed, or
as much as the source itself rounded, which is then said beside it.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from sites.rules.measurements import circle_area, triangle_area
from sites.rules.units import Amount
from treatments.rules.calibration import (
    TEST_PLOT_SQ_FT,
    course_length_ft,
    gallons_per_1000,
    linear_volume_gal,
    plot_gallons_per_acre,
    product_per_gallon,
)
from treatments.rules.dilutions import (
    LB_WATER_PER_GAL,
    active_ingredient_lb,
    dry_concentrate,
    per_1000_sq_ft,
    per_acre,
    percent_by_volume,
    percent_by_weight,
)
from treatments.rules.products import RateBasis
from treatments.rules.rates import Rate

d = Decimal


def to(value: Decimal | str, unit: str, other: str) -> Decimal:
    return Amount(Decimal(value), unit).to(other).value


def on(rate: str, unit: str, area_sq_ft: str) -> Decimal:
    return Rate.of(RateBasis.AREA, d(rate), unit).product_on(Amount(d(area_sq_ft), "ft2")).value


def active(product: Amount, percent: str) -> Decimal:
    pounds = active_ingredient_lb(product, percent=d(percent))
    assert pounds is not None
    return to(pounds, "lb", product.unit)


ARMY = "US Army subcourse MD0173 (read)"
MISSOURI = "Univ. of Missouri G7510 (read), rounds by about 4 %: 5 % is borne"
NC_STATE = "NC State backpack worksheet (read)"
PNW = "PNW Handbooks (read)"
# number, source, what is computed here, what is printed there, what printing may have lost
PRINTED: tuple[tuple[str, str, Decimal, str, str], ...] = (
    ("W1", ARMY, d(300) * 150, "45000", "0"),
    ("W1", ARMY, on("1", "gal", "45000"), "45", "0"),
    ("W2", ARMY, percent_by_volume(d(55), d(1), d(48)), "1.146", "0.0005"),
    ("W2", ARMY, 55 - percent_by_volume(d(55), d(1), d(48)), "53.9", "0.05"),
    ("W3", ARMY, dry_concentrate(d(10), d(5), d(80)), "0.625", "0"),
    ("W3", ARMY, to(dry_concentrate(d(10), d(5), d(80)), "lb", "oz_wt"), "10", "0"),
    ("W4", ARMY, d(10) * 100 / 5, "200", "0"),
    ("W5", ARMY, d("0.3") / (LB_WATER_PER_GAL * 6 / 100), "0.6", "0.05"),
    (
        "W6",
        "Kansas State hand sprayer worksheet (read)",
        per_acre(gallons_per_1000(to("31", "fl_oz", "gal"), TEST_PLOT_SQ_FT)),
        "31",
        "0.000001",  # 128 plots an acre do not divide 43,560 evenly in decimals
    ),
    ("W7", "Mesa County, CO (read)", plot_gallons_per_acre(d(150)), "150", "0"),
    ("W7", "Mesa County, CO (read)", 6 * (25 / plot_gallons_per_acre(d(150))), "1", "1e-20"),
    ("W8", NC_STATE, course_length_ft(d(6)), "57", "0.5"),
    ("W9", NC_STATE, plot_gallons_per_acre(d("7.5")), "7.5", "0"),
    ("W10", NC_STATE, product_per_gallon(d(8), d("7.5")), "1.06", "0.007"),  # cut, not rounded
    ("W10", NC_STATE, 3 * product_per_gallon(d(8), d("7.5")), "3.2", "0.05"),
    ("W10", NC_STATE, 90 * product_per_gallon(d(8), d("7.5")), "96", "0.5"),
    (
        "W11",
        "Univ. of Georgia, hand-held sprayers (read)",
        100 * product_per_gallon(to("4", "pt", "gal"), d(25)),
        "2",
        "0",
    ),
    (
        "W11",
        "Univ. of Georgia, hand-held sprayers (read)",
        percent_by_volume(to("2", "gal", "fl_oz"), d(2), d(100)),
        "5.1",
        "0.05",
    ),
    (
        "W12",
        "Univ. of Georgia, hand-held sprayers (read)",
        per_1000_sq_ft(to("4", "pt", "fl_oz")),
        "1.5",
        "0.05",
    ),
    ("W13", "Oklahoma State turf calibration (read)", per_1000_sq_ft(d(40)), "0.92", "0.005"),
    (
        "W14",
        "Oklahoma State turf calibration (read)",
        per_1000_sq_ft(to("3.6", "pt", "fl_oz")),
        "1.3",
        "0.05",
    ),
    ("W15", "Oklahoma State turf calibration (read)", 25 * to("3.6", "pt", "gal"), "11.25", "0"),
    ("W16", "Archived extension text (read)", per_acre(d("1.5")), "65", "0.5"),
    ("W17", "Archived extension text (read)", product_per_gallon(d(3), d(65)), "0.046", "0.0005"),
    (
        "W17",
        "Archived extension text (read)",
        to(product_per_gallon(d(3), d(65)), "pt", "fl_oz"),
        "0.74",
        "0.005",
    ),
    (
        "W17",
        "Archived extension text (read)",
        to(product_per_gallon(d(3), d(65)), "pt", "tbsp"),
        "1.5",
        "0.05",
    ),
    ("W18", "Pesticide Environmental Stewardship (read)", 6 * to("2", "qt", "gal"), "3", "0"),
    ("W19", PNW, to(per_1000_sq_ft(d(1)), "gal", "mL"), "87", "0.5"),
    ("W19", PNW, to(per_1000_sq_ft(1 / d(2)), "gal", "mL"), "43", "0.5"),
    ("W19", PNW, to(per_1000_sq_ft(1 / d(4)), "gal", "mL"), "22", "0.5"),
    ("W20", PNW, to(per_1000_sq_ft(d(1)), "lb", "g"), "10", "0.5"),
    ("W20", PNW, to(per_1000_sq_ft(d(2)), "lb", "g"), "21", "0.5"),
    ("W21", PNW, to(1 / d(4), "gal", "pt"), "2", "0"),
    (
        "W22",
        MISSOURI,
        to(percent_by_weight(d(100), d("0.0625"), d(1)), "gal", "pt"),
        "4",
        "0.2",
    ),
    ("W23", MISSOURI, percent_by_weight(d(100), d("0.5"), d(2)), "2", "0.1"),
    ("W23", MISSOURI, percent_by_weight(d(100), d("1.0"), d(4)), "2", "0.1"),
    ("W24", "UC ANR blog post 16761 (read)", d(80) * 60, "4800", "0"),
    ("W24", "UC ANR blog post 16761 (read), pi = 3.14", circle_area(d(40)), "1256", "0.7"),
    ("W24", "Tennessee common calculations (read)", triangle_area(d(40), d(80)), "1600", "0"),
    ("W24", "Oklahoma State turf calibration (read)", circle_area(d(20)), "314.159", "0.0005"),
    ("W24", "Virginia turf area page (read), pi = 3.14", circle_area(d(80)), "5024", "2.6"),
    ("W24", "Virginia turf area page (read)", triangle_area(d(30), d(26)), "390", "0"),
    (
        "W25",
        "Question and answer of the trade (read, weak)",
        active(Amount(d("14.8"), "oz_wt"), "10"),
        "1.48",
        "1e-20",
    ),
    (
        "W25",
        "Question and answer of the trade (read, weak)",
        active(Amount(d(10), "g"), "10"),
        "1",
        "1e-20",
    ),
    ("W26", "USDA-ARS slides (read)", d("9.5") / to("1000", "ft2", "m2"), "0.1", "0.05"),
    ("W26", "USDA-ARS slides (read)", d(19) / to("1000", "ft2", "m2"), "0.2", "0.05"),
    ("W27", "Page of the trade (read, weak)", linear_volume_gal(d(180), d(4)), "72", "0"),
    ("W27", "Page of the trade (read, weak)", linear_volume_gal(d(402), d(4)), "160.8", "0"),
    ("W28", "Page of the trade (read, weak)", d(6000) / 10, "600", "0"),
)


@pytest.mark.parametrize(("number", "source", "computed", "printed", "lost"), PRINTED)
def test_as_printed(number: str, source: str, computed: Decimal, printed: str, lost: str) -> None:
    assert abs(computed - d(printed)) <= d(lost), f"{number}, {source}: {computed}"


def test_every_published_example_stands_here() -> None:
    assert [f"W{number}" for number in range(1, 29)] == list(
        dict.fromkeys(number for number, *_ in PRINTED)
    )


# Concentrate of 7.9 %, 2/3 lb per gal: trade.md 1.5, derived; values as printed there
TWO_THIRDS = d(2) / 3
GRAMS_PER_LB = d("453.59237")


def ai_lb(fl_oz: Decimal) -> Decimal:
    pounds = active_ingredient_lb(Amount(fl_oz, "fl_oz"), lb_ai_per_gal=TWO_THIRDS)
    assert pounds is not None
    return pounds


def rounded(value: Decimal, printed: str) -> bool:
    return value.quantize(d(printed)) == d(printed)


def test_two_thirds_of_a_pound_per_fluid_ounce() -> None:
    assert rounded(ai_lb(d(1)), "0.0052083")
    assert rounded(ai_lb(d(1)) * GRAMS_PER_LB, "2.36246")
    assert rounded(TWO_THIRDS / d("0.079"), "8.4388")  # implied density, lb per gal


@pytest.mark.parametrize(("percent", "fl_oz"), [("0.06", "0.9608"), ("0.02", "0.3203")])
def test_two_thirds_of_a_pound_by_weight(percent: str, fl_oz: str) -> None:
    """The reference weighs water with 8.34 lb; its 0.9608 is at 8.34, like W5 and W22."""
    gallons = percent_by_weight(d(1), d(percent), TWO_THIRDS)
    assert rounded(to(gallons, "gal", "fl_oz"), fl_oz)


def test_an_ounce_in_a_gallon_is_a_little_more_than_six_hundredths() -> None:
    # the reference prints 0.06245 % for 1.0 fl oz per gal
    assert rounded(ai_lb(d(1)) * 100 / LB_WATER_PER_GAL, "0.06245")


@pytest.mark.parametrize(
    ("rate", "fl_oz_acre", "lb_acre", "mg_m2"),
    [
        ("0.33", "14.37", "0.0749", "8.39"),
        ("0.5", "21.78", "0.1134", "12.71"),
        ("1.0", "43.56", "0.2269", "25.43"),
    ],
)
def test_two_thirds_of_a_pound_over_area(
    rate: str, fl_oz_acre: str, lb_acre: str, mg_m2: str
) -> None:
    assert rounded(per_acre(d(rate)), fl_oz_acre)
    assert rounded(ai_lb(per_acre(d(rate))), lb_acre)
    milligrams = ai_lb(d(rate)) * GRAMS_PER_LB * 1000
    assert rounded(milligrams / to("1000", "ft2", "m2"), mg_m2)


def test_granule_of_a_fifth_of_a_percent() -> None:
    """Derived (trade.md 1.8; the rate from memory): 0.2 % at 2.3 lb is 0.2004 lb per acre."""
    assert rounded(active(Amount(per_acre(d("2.3")), "lb"), "0.2"), "0.2004")


def test_dust_and_wall_spray_per_square_meter() -> None:
    """Derived (trade.md 1.4): 0.05 % dust at 3.54 g/m2; 0.03 % spray at 1 gal per 1,000 sq ft."""
    assert d("3.54") * 1000 * d("0.05") / 100 == d("1.77")
    spray_g = LB_WATER_PER_GAL * GRAMS_PER_LB
    milligrams = spray_g * 1000 * d("0.03") / 100 / to("1000", "ft2", "m2")
    assert rounded(milligrams, "12.2")
