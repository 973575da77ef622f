"""Active ingredient in totals against published arithmetic."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import canonical
from treatments.rules.totals import Cell, ProductKey, Tally
from treatments.rules.totals_ingredients import (
    Strength,
    in_unit,
    ingredient_totals,
    mass_of,
    rounded,
)

A, D = (
    ProductKey("Demonstration A SC", "99999-101"),
    ProductKey("Demonstration D dust", "99999-104"),
)
THIN = Strength("demothrin", Decimal("7.9"), Decimal("0.666667"))


def liquid(amount: str, unit: str) -> Tally:
    return Tally(1, by_volume=1, ul=canonical(Decimal(amount), unit))


def dry(amount: str, unit: str) -> Tally:
    return Tally(1, by_mass=1, mg=canonical(Decimal(amount), unit))


@pytest.mark.parametrize(
    ("amount", "unit", "lb_per_gal", "pounds", "places"),
    [
        # label arithmetic 5, computed with Decimal: 0.540 fl oz of 0.66 lb a gallon
        ("0.540", "fl_oz", "0.66", "0.002784375", 7),
        # bifenthrin 7.9 %, by its label 2/3 lb a gallon (read): 0.0052083 lb a fl oz (derived);
        # one place less, since an amount is kept in whole uL
        ("1", "fl_oz", "0.666667", "0.005208", 6),
        # the house of 60 by 40 ft: 1.60 fl oz are 0.0083333 lb (derived)
        ("1.60", "fl_oz", "0.666667", "0.008333", 6),
        # 1 lb an acre from 4 lb a gallon is 2 pt (PNW Handbooks, read)
        ("2", "pt", "4", "1", 6),
        # ... and from 1 lb a gallon 87 mL per 1,000 sq ft, 43.56 of which are an acre (read)
        ("3785.411784", "mL", "1", "1", 6),
    ],
)
def test_pounds_in_a_liquid(
    amount: str, unit: str, lb_per_gal: str, pounds: str, places: int
) -> None:
    strength = Strength("demothrin", Decimal("7.9"), Decimal(lb_per_gal))
    mass = mass_of(strength, liquid(amount, unit))
    assert mass is not None
    found = rounded(in_unit(mass, "lb"), places)
    assert found == Decimal(pounds).quantize(Decimal(1).scaleb(-places))


@pytest.mark.parametrize(
    ("amount", "unit", "percent", "expected", "in_what"),
    [
        # 10 % powder: a jar of 14.8 oz holds 1.48 oz, a scoop of 10 g holds 1 g (read)
        ("14.8", "oz_wt", "10", "1.48", "oz_wt"),
        ("10", "g", "10", "1", "g"),
        # 200 lb of 5 % dust are 10 lb of toxicant (US Army MD0173, read)
        ("200", "lb", "5", "10", "lb"),
        # 0.625 lb of 80 % powder is what 10 lb of 5 % dust holds: 0.5 lb (MD0173, read)
        ("0.625", "lb", "80", "0.5", "lb"),
    ],
)
def test_mass_in_a_dry_product(
    amount: str, unit: str, percent: str, expected: str, in_what: str
) -> None:
    mass = mass_of(Strength("demodust", Decimal(percent)), dry(amount, unit))
    assert mass is not None
    assert rounded(in_unit(mass, in_what), 5) == Decimal(expected)


def test_the_house_in_grams() -> None:
    # 1.60 fl oz of 2/3 lb a gallon: 3.7799 g (derived)
    mass = mass_of(Strength("x", Decimal("7.9"), Decimal("0.666667")), liquid("1.60", "fl_oz"))
    assert mass is not None and rounded(in_unit(mass, "g"), 3) == Decimal("3.780")


def test_a_liquid_without_pounds_a_gallon_is_named_and_adds_nothing() -> None:
    unknown = Strength("demothrin", Decimal("1.5"))
    cells = [Cell((), A, liquid("1", "gal")), Cell((), D, dry("1", "lb"))]
    totals = ingredient_totals(cells, {A: [unknown], D: [Strength("demothrin", Decimal(1))]})
    assert [(one.name, one.mg, one.records, one.unknown) for one in totals] == [
        # a pound is 453,592.37 mg, kept as 453,592 whole ones
        ("demothrin", Fraction(453_592, 100), 1, {A.name: 1})
    ]


def test_half_goes_to_even_once() -> None:
    assert rounded(Fraction(5, 2), 0) == Decimal(2)
    assert rounded(Fraction(1, 8), 2) == Decimal("0.12")
    assert rounded(Fraction(3, 8), 2) == Decimal("0.38")


@given(st.lists(st.integers(0, 10**13), min_size=1, max_size=20))
def test_rounding_waits_for_the_sum(amounts: list[int]) -> None:
    cells = [Cell((), A, Tally(1, 1, 0, ul, 0)) for ul in amounts]
    whole = mass_of(THIN, Tally(len(amounts), len(amounts), 0, sum(amounts), 0))
    assert ingredient_totals(cells, {A: [THIN]})[0].mg == whole
