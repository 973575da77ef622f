"""One registry of units with our own exact definitions, and amounts that never mix kinds.

Factors: NIST Handbook 44, Appendix C (read; inch and pound from memory). Every unit is a whole
multiple of mm, uL or mg, so going down to canonical units never divides. The acre is 43,560
international square feet; a general-purpose registry has the survey acre.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, Context, Decimal, localcontext
from functools import cache

from pint import UnitRegistry

from accounts.refusals import Refused

DEFINITIONS = (
    "mm = [length]",
    "m = 1000 mm",
    "inch = 25.4 mm",
    "ft = 12 inch",
    "yd = 3 ft",
    "lf = ft",
    "mm2 = mm ** 2",
    "m2 = m ** 2",
    "ft2 = ft ** 2",
    "acre = 43560 ft2",
    "ha = 10000 m2",
    "in3 = inch ** 3",
    "ft3 = ft ** 3",
    "m3 = m ** 3",
    "uL = mm ** 3",
    "mL = 1000 uL",
    "L = 1000 mL",
    "tsp = 4928.92159375 uL",  # 231 cubic inches / 768, which ends after eight decimals
    "tbsp = 3 tsp",
    "fl_oz = 2 tbsp",
    "cup = 8 fl_oz",
    "pt = 2 cup",
    "qt = 2 pt",
    "gal = 4 qt",
    "mg = [mass]",
    "g = 1000 mg",
    "kg = 1000 g",
    "oz_wt = 28349.523125 mg",
    "lb = 16 oz_wt",
    "each = [count]",
)
# kind of every unit, the canonical unit of every kind (DEVELOPERS.md, "Amounts")
KINDS: dict[str, str] = {
    **dict.fromkeys(("uL", "mL", "L", "tsp", "tbsp", "fl_oz", "cup", "pt", "qt", "gal"), "volume"),
    **dict.fromkeys(("mg", "g", "kg", "oz_wt", "lb"), "mass"),
    **dict.fromkeys(("mm", "m", "inch", "ft", "yd", "lf"), "length"),
    **dict.fromkeys(("mm2", "m2", "ft2", "acre", "ha"), "area"),
    **dict.fromkeys(("in3", "ft3", "m3"), "space"),
    "each": "count",
}
CANONICAL: dict[str, str] = {
    "volume": "uL",
    "mass": "mg",
    "length": "mm",
    "area": "mm2",
    "space": "mL",
    "count": "each",
}
UNIT_WORDS: dict[str, str] = {
    "fl_oz": "fl oz",
    "oz_wt": "oz (wt)",
    "inch": "in",
    "ft2": "sq ft",
    "m2": "m²",
    "mm2": "mm²",
    "in3": "cu in",
    "ft3": "cu ft",
    "m3": "m³",
    "uL": "µL",
    "lf": "linear ft",
    "acre": "acres",
}
# what finished spray and tanks are said in, by the units of a branch
SPRAY_UNITS: dict[str, str] = {"us": "gal", "metric": "L"}
HUNDREDTH = Decimal("0.01")
METRIC_SHELF: dict[str, str] = {"volume": "mL", "mass": "g"}
# enough digits that no product of two entered amounts is ever rounded
EXACT = Context(prec=80)
NUMBER = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
MOST_DECIMALS = 6


def _registry() -> UnitRegistry[Decimal]:
    registry: UnitRegistry[Decimal] = UnitRegistry(None, non_int_type=Decimal)
    for line in DEFINITIONS:
        registry.define(line)
    return registry


ureg = _registry()


@dataclass(frozen=True)
class Amount:
    """A value and its unit; `unit` is one of the names in KINDS, else refused."""

    value: Decimal
    unit: str

    def __post_init__(self) -> None:
        kind_of(self.unit)

    @property
    def kind(self) -> str:
        """volume, mass, length, area, space or count."""
        return kind_of(self.unit)

    @property
    def exact(self) -> Decimal:
        """The value in the canonical unit of its kind, not rounded."""
        return self.to(CANONICAL[self.kind]).value

    def to(self, unit: str) -> Amount:
        """The same amount in another unit; refused between kinds (fl oz and oz by weight)."""
        if _base(unit) != _base(self.unit):
            raise _unlike(self.unit, unit)
        parts = EXACT.multiply(self.value, _factor(self.unit))
        return Amount(EXACT.divide(parts, _factor(unit)), unit)

    def __str__(self) -> str:
        return f"{plain(self.value)} {unit_word(self.unit)}"


@cache
def _base(unit: str) -> str:
    """What a unit is a multiple of; spaces and volumes share one."""
    kind = kind_of(unit)
    return "uL" if kind == "space" else CANONICAL[kind]


@cache
def _factor(unit: str) -> Decimal:
    """How many of its base a unit is: exact, and asked of the registry once."""
    with localcontext(EXACT):
        return Decimal(ureg.Quantity(Decimal(1), unit).to(_base(unit)).magnitude)


def _unlike(one: str, other: str) -> Refused:
    return Refused(
        "unit",
        f"{unit_word(one)} is {kind_of(one)} and {unit_word(other)} is {kind_of(other)}: "
        "one does not turn into the other. Use the label's own unit.",
    )


def kind_of(unit: str) -> str:
    """The kind of a unit, refused when the unit is unknown here."""
    try:
        return KINDS[unit]
    except KeyError as failure:
        known = ", ".join(KINDS)
        raise Refused(
            "unit", f"There is no unit {unit[:20]!r} here. Use one of {known}."
        ) from failure


def unit_word(unit: str) -> str:
    """A unit as people write it: `fl_oz` is fl oz."""
    return UNIT_WORDS.get(unit, unit)


def canonical(value: Decimal, unit: str) -> int:
    """Whole canonical units (uL, mg, mm, mm2, mL of space, count), half-even."""
    return int(Amount(value, unit).exact.to_integral_value(ROUND_HALF_EVEN, EXACT))


def from_canonical(number: int, unit: str) -> Decimal:
    """The value in `unit` of a whole number of canonical units of the same kind."""
    return Amount(Decimal(number), CANONICAL[kind_of(unit)]).to(unit).value


def parse_amount(text: str, unit: str, *, at_most: Decimal = Decimal("1000000")) -> Amount:
    """An amount as typed, refused with a sentence that says what to type instead.

    Plain digits with at most one point; no sign, exponent, separator or word; not above
    `at_most`, which is in `unit`; six decimals at most.
    """
    kind_of(unit)
    typed = text.strip()
    _refuse_shape(typed)
    value = Decimal(typed)
    if value > at_most:
        raise _not_an_amount(
            f"{typed[:20]} {unit_word(unit)} is more than the most taken here, "
            f"{group(at_most)}. Check the number and its unit."
        )
    return Amount(value, unit)


def _refuse_shape(typed: str) -> None:
    if not typed:
        raise _not_an_amount("The amount is missing. Type a number like 1.08.")
    if "," in typed:
        raise _not_an_amount(
            f"The amount has a comma: {typed[:20]}. Type 1.5 with a point, 1000 without a comma."
        )
    if typed.startswith("-"):
        raise _not_an_amount(f"The amount is below zero: {typed[:20]}. Type it without a minus.")
    if not NUMBER.fullmatch(typed):
        raise _not_an_amount(f"{typed[:20]!r} is not a number. Type digits like 1.08.")
    if len(typed.partition(".")[2]) > MOST_DECIMALS:
        raise _not_an_amount(
            f"The amount has too many decimals: {typed[:20]}. Type {MOST_DECIMALS} at most."
        )


def _not_an_amount(sentence: str) -> Refused:
    return Refused("amount", sentence)


def plain(value: Decimal) -> str:
    """A number without exponent and without idle zeros, as stored and shown in rates."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def group(value: Decimal, places: int | None = None, *, rounding: str = ROUND_HALF_EVEN) -> str:
    """A number with thousands separated; rounded for display only when `places` is given."""
    if places is None:
        return f"{Decimal(plain(value)):,f}"
    step = Decimal(1).scaleb(-places)
    return f"{value.quantize(step, rounding, EXACT):,f}"


def display(amount: Amount, places: int = 2, *, round_down: bool = False) -> str:
    """Number and unit for people; `round_down` for an amount that stands at a label's maximum."""
    rounding = ROUND_DOWN if round_down else ROUND_HALF_EVEN
    return f"{group(amount.value, places, rounding=rounding)} {unit_word(amount.unit)}"


def fahrenheit_to_celsius(degrees: Decimal) -> Decimal:
    """(F - 32) * 5 / 9."""
    return (degrees - 32) * 5 / 9


def mph_to_meters_per_second(speed: Decimal) -> Decimal:
    """1 mph is 0.44704 m/s exactly."""
    return speed * Decimal("0.44704")


def celsius_to_fahrenheit(degrees: Decimal) -> Decimal:
    """C * 9 / 5 + 32."""
    return degrees * 9 / 5 + 32


def meters_per_second_to_mph(speed: Decimal) -> Decimal:
    """1 mph is 0.44704 m/s exactly."""
    return speed / Decimal("0.44704")


def shelf_unit(unit: str, system: str) -> str:
    """What product on a shelf is said in: the label's own unit, or mL and g in a metric branch."""
    return METRIC_SHELF.get(kind_of(unit), unit) if system == "metric" else unit


def wind_words(mph: Decimal, system: str) -> str:
    """A wind speed in mph, or in m/s for a metric branch: two decimals, as it was typed."""
    if system != "metric":
        return f"{plain(mph)} mph"
    return f"{plain(mph_to_meters_per_second(mph).quantize(HUNDREDTH))} m/s"


def air_words(fahrenheit: Decimal, system: str) -> str:
    """A temperature in °F, or in °C for a metric branch: two decimals, as it was typed."""
    if system != "metric":
        return f"{plain(fahrenheit)} °F"
    return f"{plain(fahrenheit_to_celsius(fahrenheit).quantize(HUNDREDTH))} °C"
