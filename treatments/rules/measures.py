"""The measures on the truck, and amounts rounded down to their marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal, localcontext

from accounts.refusals import Refused
from sites.rules.branch_units import METRIC, US
from sites.rules.units import EXACT, KINDS, Amount, display, plain, unit_word


@dataclass(frozen=True)
class Measure:
    """A jar, cylinder or scale: its finest mark is `mark` of `unit`; refused unless above zero."""

    unit: str
    mark: Decimal

    def __post_init__(self) -> None:
        if self.mark <= 0:
            raise Refused("measure", "The marks of a measure are above zero. Read them again.")

    @property
    def code(self) -> str:
        """mL-5"""
        return f"{self.unit}-{self.mark}"

    @property
    def words(self) -> str:
        """marks of 5 mL"""
        return f"marks of {self.one_mark}"

    @property
    def kind(self) -> str:
        return KINDS[self.unit]

    @property
    def one_mark(self) -> str:
        """5 mL"""
        return f"{plain(self.mark)} {unit_word(self.unit)}"

    def is_under(self, amount: Amount) -> bool:
        """Whether there is something to measure, and less of it than one mark."""
        return 0 < amount.to(self.unit).value < self.mark

    def down(self, amount: Amount) -> Amount:
        """In this measure's unit, down to a mark and never up; refused when it is too coarse."""
        with localcontext(EXACT):
            marks = (amount.to(self.unit).value / self.mark).to_integral_value(ROUND_FLOOR)
        if self.is_under(amount):
            raise Refused(
                "measure",
                f"{display(amount, 3, round_down=True)} is less than one mark of this measure, "
                f"{self.one_mark}. Take a finer measure.",
                field="measure",
            )
        return Amount(marks * self.mark, self.unit)


def reading(amount: Amount, measure: Measure | None) -> str:
    """An amount as it is read on the measure, else with two decimals; never rounded up.

    Less than a mark is no reading and is said as such.
    """
    if measure is None:
        return display(amount, 0 if amount.unit == "each" else 2, round_down=True)
    if measure.is_under(amount):
        return f"under {measure.one_mark}"
    decimals = len(plain(measure.mark).partition(".")[2])
    return display(amount.to(measure.unit), decimals, round_down=True)


# what hangs in trucks (common practice, no source)
MEASURES: tuple[Measure, ...] = tuple(
    Measure(unit, Decimal(mark))
    for unit, mark in (
        ("mL", "1"),
        ("mL", "5"),
        ("mL", "10"),
        ("fl_oz", "0.25"),
        ("fl_oz", "0.5"),
        ("fl_oz", "1"),
        ("g", "0.1"),
        ("g", "1"),
        ("oz_wt", "0.1"),
        ("oz_wt", "1"),
    )
)
# what is proposed for a label's unit (house rule): a small measure for a small unit
_PROPOSED: Mapping[str, str] = {
    **dict.fromkeys(("uL", "mL", "tsp", "tbsp", "fl_oz"), "mL-1"),
    **dict.fromkeys(("L", "cup", "pt", "qt", "gal"), "fl_oz-1"),
    **dict.fromkeys(("mg", "g"), "g-0.1"),
    **dict.fromkeys(("oz_wt", "lb", "kg"), "oz_wt-0.1"),
}

# in a metric branch every measure hangs in mL or g (house rule)
_PROPOSED_METRIC: Mapping[str, str] = {"volume": "mL-1", "mass": "g-0.1"}


def measures_for(unit: str) -> tuple[Measure, ...]:
    """The measures that fit a label's unit; none for what is counted."""
    return tuple(one for one in MEASURES if one.kind == KINDS[unit])


def measure_named(code: str, unit: str, system: str = US) -> Measure | None:
    """The measure of that code where it fits the unit, else the one proposed for the unit."""
    found = {one.code: one for one in measures_for(unit)}
    proposed = _PROPOSED_METRIC.get(KINDS[unit]) if system == METRIC else _PROPOSED.get(unit)
    return found.get(code) or found.get(proposed or "")
