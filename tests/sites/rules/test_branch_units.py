"""What a metric branch reads, against numbers worked out by hand.

Factors: NIST Handbook 44, Appendix C (read): 1 gal is 3.785411784 L, 1 fl oz is 29.5735295625 mL;
a pound is 453.59237 g, a foot 0.3048 m (from memory), so 1,000 sq ft are 92.90304 m². A hectare is
10,000 m².
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.branch_units import (
    METRIC,
    US,
    active,
    counted_on,
    on_area,
    output,
    product,
    spray,
    spray_of,
    tank,
)
from sites.rules.units import Amount

d = Decimal


@pytest.mark.parametrize(
    ("said", "us", "metric"),
    [
        # 0.6 x 3.785411784 = 2.2712...
        (spray, ("0.6", "0.60 gal"), "2.27 L"),
        # 1 x 3.785411784 / 92.90304 x 100 = 4.0745...
        (output, ("1", "1.00 gal per 1,000 sq ft"), "4.07 L per 100 m²"),
        # 1.25 times that is 5.0932...
        (output, ("1.25", "1.25 gal per 1,000 sq ft"), "5.09 L per 100 m²"),
        # 4 x 3.785411784 = 15.1416...
        (tank, ("4", "4 gal"), "15.14 L"),
        # 0.0083333 x 453.59237 = 3.77992...
        (active, ("0.0083333", "0.008333 lb active"), "3.780 g active"),
    ],
    ids=("spray", "output", "output of a backpack", "tank", "active"),
)
def test_gallons_and_pounds(said, us, metric) -> None:  # type: ignore[no-untyped-def]
    number, words = us
    assert (said(d(number), US), said(d(number), METRIC)) == (words, metric)


def test_whole_microliters_are_said_alike() -> None:
    assert (spray_of(2_271_247, US), spray_of(2_271_247, METRIC)) == ("0.60 gal", "2.27 L")


@pytest.mark.parametrize(
    ("amount", "area", "us", "metric"),
    [
        # 29.5735295625 / 92.90304 x 100 = 31.8326...; a hundred of them are 3.1832... L
        (
            ("1.6", "fl_oz"),
            "1600",
            "1.000 fl oz per 1,000 sq ft, 43.56 fl oz per acre",
            "31.833 mL per 100 m², 3.18 L per hectare",
        ),
        # 2 lb are 907.18474 g: / 92.90304 x 100 = 976.4855...; a hundred of them are 97.648... kg
        (
            ("24", "lb"),
            "12000",
            "2.000 lb per 1,000 sq ft, 87.12 lb per acre",
            "976.486 g per 100 m², 97.65 kg per hectare",
        ),
    ],
)
def test_a_rate_on_an_area(amount: tuple[str, str], area: str, us: str, metric: str) -> None:
    put = Amount(d(amount[0]), amount[1])
    assert (on_area(put, d(area), US), on_area(put, d(area), METRIC)) == (us, metric)


@pytest.mark.parametrize(
    ("per", "us", "metric"),
    [
        # 0.5 fl oz are 14.78676478125 mL on 3.048 m: / 3.048 x 10 = 48.5130...
        (Amount(d(10), "ft"), "0.500 fl oz per 10 ft", "48.513 mL per 10 m"),
        # on 1,000 cu ft, which are 28.316846592 m³: x 100 / 28.3168... = 52.2189...
        (Amount(d(1000), "ft3"), "0.500 fl oz per 1,000 cu ft", "52.219 mL per 100 m³"),
        (Amount(d(1), "each"), "0.500 fl oz per placement", "14.787 mL per placement"),
        # in a gallon: / 3.785411784 = 3.90625, as 0.5 fl oz is one in 256
        (Amount(d(1), "gal"), "0.500 fl oz per gal", "3.906 mL per L"),
    ],
)
def test_a_rate_on_what_is_counted(per: Amount, us: str, metric: str) -> None:
    put = Amount(d("0.5"), "fl_oz")
    assert (counted_on(put, per, US), counted_on(put, per, METRIC)) == (us, metric)


def test_product_in_the_units_of_the_shelf() -> None:
    assert product(Amount(d(1), "oz_wt"), METRIC, 3) == "28.350 g"
    assert product(Amount(d(1), "oz_wt"), METRIC, 3, round_down=True) == "28.349 g"
    assert product(Amount(d(1), "oz_wt"), US, 3) == "1.000 oz (wt)"
    assert product(Amount(d(3), "each"), METRIC, 0) == "3 each"


@settings(max_examples=50)
@given(st.integers(1, 10**7), st.integers(1, 10**6))
def test_what_is_shown_is_within_half_a_step_of_the_exact_rate(ul: int, area: int) -> None:
    """Worked out again in fractions: nothing is lost on the way to the last decimal."""
    said = on_area(Amount(d(ul), "uL"), d(area), METRIC)
    shown = Fraction(said.split(" ")[0].replace(",", ""))
    exact = Fraction(ul, 1000) / (area * Fraction("0.09290304")) * 100
    assert abs(shown - exact) <= Fraction(1, 2000)
