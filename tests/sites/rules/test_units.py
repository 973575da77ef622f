"""Units against NIST Handbook 44, Appendix C (read).

Read there: gallon, cup, acre and cubic foot. Inch and pound are the standard's definitions from
memory; the other rows follow from these by exact arithmetic.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.units import (
    CANONICAL,
    KINDS,
    Amount,
    air_words,
    canonical,
    celsius_to_fahrenheit,
    display,
    fahrenheit_to_celsius,
    from_canonical,
    meters_per_second_to_mph,
    mph_to_meters_per_second,
    parse_amount,
    plain,
    shelf_unit,
    wind_words,
)

# from, unit, equals, unit: every row is exact
NIST = [
    ("1", "gal", "4", "qt"),
    ("1", "gal", "8", "pt"),
    ("1", "gal", "16", "cup"),
    ("1", "gal", "128", "fl_oz"),
    ("1", "gal", "256", "tbsp"),
    ("1", "gal", "768", "tsp"),
    ("1", "gal", "231", "in3"),
    ("1", "gal", "3785.411784", "mL"),
    ("1", "qt", "946.352946", "mL"),
    ("1", "pt", "473.176473", "mL"),
    ("1", "fl_oz", "29.5735295625", "mL"),
    ("1", "tbsp", "14.78676478125", "mL"),
    ("1", "tsp", "4.92892159375", "mL"),
    ("1", "lb", "16", "oz_wt"),
    ("1", "lb", "453.59237", "g"),
    ("1", "oz_wt", "28.349523125", "g"),
    ("1", "acre", "43560", "ft2"),
    ("1", "acre", "4046.8564224", "m2"),
    ("1000", "ft2", "92.90304", "m2"),
    ("1", "ft2", "0.09290304", "m2"),
    ("1", "yd", "36", "inch"),
    ("1", "lf", "0.3048", "m"),
]


@pytest.mark.parametrize(("value", "unit", "equal", "other"), NIST)
def test_handbook_44(value: str, unit: str, equal: str, other: str) -> None:
    assert Amount(Decimal(value), unit).to(other).value == Decimal(equal)


def test_a_cubic_foot_is_7_481_gallons_to_the_printed_digits() -> None:
    gallons = Amount(Decimal(1), "ft3").to("gal").value
    assert gallons.quantize(Decimal("0.001")) == Decimal("7.481")


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (50, 10), (77, 25), (86, 30), (-40, -40)]
)
def test_temperature(fahrenheit: int, celsius: int) -> None:
    """Derived from (F - 32) x 5/9."""
    assert fahrenheit_to_celsius(Decimal(fahrenheit)) == celsius
    assert celsius_to_fahrenheit(Decimal(celsius)) == fahrenheit


def test_five_miles_an_hour() -> None:
    """Derived from the mile of 5,280 international feet (definition from memory)."""
    assert mph_to_meters_per_second(Decimal(5)) == Decimal("2.2352")
    assert meters_per_second_to_mph(Decimal("2.2352")) == 5


@given(st.integers(0, 6_700), st.integers(-5_100, 6_000))
def test_a_reading_of_a_metric_branch_is_shown_as_it_was_typed(wind: int, air: int) -> None:
    """Stored with two decimals of mph and °F, as a record keeps it."""
    speed, degrees = Decimal(wind) / 100, Decimal(air) / 100
    stored = [
        one.quantize(Decimal("0.01"))
        for one in (meters_per_second_to_mph(speed), celsius_to_fahrenheit(degrees))
    ]
    assert wind_words(stored[0], "metric") == f"{plain(speed)} m/s"
    assert air_words(stored[1], "metric") == f"{plain(degrees)} °C"
    assert wind_words(Decimal("4.0"), "us") == "4 mph" and air_words(Decimal(61), "us") == "61 °F"


@pytest.mark.parametrize(
    ("unit", "other"), [("fl_oz", "oz_wt"), ("oz_wt", "fl_oz"), ("gal", "lb"), ("each", "g")]
)
def test_kinds_never_mix(unit: str, other: str) -> None:
    with pytest.raises(Refused) as refused:
        Amount(Decimal(1), unit).to(other)
    assert refused.value.code == "unit"


def test_every_kind_has_its_canonical_unit() -> None:
    assert set(KINDS.values()) == set(CANONICAL)


def test_canonical_whole_numbers() -> None:
    assert canonical(Decimal("0.54"), "fl_oz") == 15970  # 15.96970596375 mL, derived
    assert canonical(Decimal("1080"), "ft2") == 100_335_283  # 1080 x 92,903.04 = ...283.2
    assert canonical(Decimal("1"), "ft3") == 28317  # 28,316.846592 mL
    assert canonical(Decimal("12"), "each") == 12


def test_canonical_rounds_half_to_even() -> None:
    assert [canonical(Decimal(text), "mm") for text in ("0.5", "1.5", "2.5")] == [0, 2, 2]


@given(st.integers(0, 10**15), st.sampled_from(sorted(KINDS)))
def test_a_round_trip_is_exact(number: int, unit: str) -> None:
    assert canonical(from_canonical(number, unit), unit) == number


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1.08", "1.08"),
        (" 12 ", "12"),
        (".5", "0.5"),
        ("0", "0"),
        ("1000000", "1000000"),
        ("3.", "3"),
    ],
)
def test_amounts_as_typed(text: str, value: str) -> None:
    assert parse_amount(text, "fl_oz") == Amount(Decimal(value), "fl_oz")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "missing"),
        ("abc", "not a number"),
        ("12abc", "not a number"),
        ("-1", "below zero"),
        ("NaN", "not a number"),
        ("inf", "not a number"),
        ("1e5", "not a number"),
        ("1,5", "comma"),
        ("1,000", "comma"),
        (".", "not a number"),
        ("１２", "not a number"),
        ("1000000000000", "more than the most"),
        ("1000000.000001", "more than the most"),
        ("1.0000001", "too many decimals"),
        ("9" * 5000, "more than the most"),
    ],
)
def test_amounts_refused(text: str, says: str) -> None:
    with pytest.raises(Refused, match=says) as refused:
        parse_amount(text, "fl_oz")
    assert refused.value.code == "amount"
    assert len(refused.value.sentence) < 160


def test_unknown_units_are_refused() -> None:
    with pytest.raises(Refused, match="no unit 'hogshead'"):
        parse_amount("1", "hogshead")


@given(st.text(max_size=30))
def test_no_text_breaks_the_parser(text: str) -> None:
    try:
        assert parse_amount(text, "gal").value >= 0
    except Refused as refused:
        assert refused.code == "amount"


def test_display() -> None:
    assert display(Amount(Decimal("1080"), "ft2"), 0) == "1,080 sq ft"
    assert display(Amount(Decimal("2.375"), "mL"), 2) == "2.38 mL"
    assert display(Amount(Decimal("2.379"), "mL"), 2, round_down=True) == "2.37 mL"
    assert str(Amount(Decimal("0.540"), "fl_oz")) == "0.54 fl oz"


@pytest.mark.parametrize(
    ("unit", "us", "metric"),
    [("fl_oz", "fl_oz", "mL"), ("lb", "lb", "g"), ("mL", "mL", "mL"), ("each", "each", "each")],
)
def test_what_a_shelf_is_read_in(unit: str, us: str, metric: str) -> None:
    """House rule."""
    assert (shelf_unit(unit, "us"), shelf_unit(unit, "metric")) == (us, metric)
