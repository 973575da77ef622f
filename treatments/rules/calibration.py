"""What a sprayer puts out.

Formulas: Kansas State hand sprayer worksheet, Colorado State fact sheet 204, NC State backpack
worksheet (all read).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.branch_units import METRIC, US
from sites.rules.units import SPRAY_UNITS, Amount, plain, unit_word

SQ_FT_PER_ACRE = Decimal(43560)
TEST_PLOT_SQ_FT = SQ_FT_PER_ACRE / 128  # fluid ounces caught here are gallons per acre
AREA_OF = {US: "ft2", METRIC: "m2"}
ML_PER_GAL = Decimal("3785.411784")


class EquipmentKind(StrEnum):
    """What product is put out with."""

    HAND_CAN = "hand_can"
    BACKPACK = "backpack"
    POWER_SPRAYER = "power_sprayer"
    SPREADER = "spreader"
    DUSTER = "duster"
    FOGGER = "fogger"


class Measuring(StrEnum):
    """How an output was measured."""

    AREA = "area"
    ACRE_128TH = "acre_128th"
    TIMED_FLOW = "timed_flow"


EQUIPMENT_WORDS: Mapping[StrEnum, str] = {
    EquipmentKind.HAND_CAN: "Hand can",
    EquipmentKind.BACKPACK: "Backpack sprayer",
    EquipmentKind.POWER_SPRAYER: "Power sprayer",
    EquipmentKind.SPREADER: "Spreader",
    EquipmentKind.DUSTER: "Duster",
    EquipmentKind.FOGGER: "Fogger or mister",
}
MEASURING_WORDS: Mapping[StrEnum, str] = {
    Measuring.AREA: "Gallons over a measured plot",
    Measuring.ACRE_128TH: "Fluid ounces over 1/128 acre",
    Measuring.TIMED_FLOW: "Milliliters caught in seconds",
}


METRIC_MEASURING_WORDS: Mapping[StrEnum, str] = {
    Measuring.AREA: "Liters over a measured plot",
    Measuring.TIMED_FLOW: MEASURING_WORDS[Measuring.TIMED_FLOW],
}


@dataclass(frozen=True)
class Measurement:
    """One measurement as entered in the units of a branch (see `Calibration`)."""

    measuring: Measuring
    caught: Decimal
    over: Decimal | None = None
    pace: Decimal | None = None
    system: str = US

    @property
    def volume(self) -> Amount:
        """What was caught."""
        units = {
            Measuring.AREA: SPRAY_UNITS[self.system],
            Measuring.ACRE_128TH: "fl_oz",
            Measuring.TIMED_FLOW: "mL",
        }
        return Amount(self.caught, units[self.measuring])

    @property
    def plot(self) -> Amount | None:
        """The plot it was caught over; None for what was timed or is of a known plot."""
        if self.measuring != Measuring.AREA or self.over is None:
            return None
        return Amount(self.over, AREA_OF[self.system])

    @property
    def output(self) -> Decimal:
        """Gallons per 1,000 sq ft, without rounding on the way; refused as `measured_output`."""
        caught, over, pace = self.caught, self.over, self.pace
        if self.system == METRIC and self.measuring == Measuring.ACRE_128TH:
            said = "Measure liters over a plot, or a timed flow."
            raise Refused("calibration", said, field="measuring")
        if self.plot is not None:
            caught, over = self.volume.to("gal").value, self.plot.to("ft2").value
        if pace is not None:
            pace = Amount(pace, AREA_OF[self.system]).to("ft2").value
        return measured_output(self.measuring, caught, over, pace)

    @property
    def words(self) -> str:
        """As entered: 3 L over 50 m², or 946 mL in 60 s at 100 sq ft a minute."""
        volume = _entered(self.volume)
        if self.measuring == Measuring.TIMED_FLOW and self.over is not None:
            pace = Amount(self.pace or Decimal(0), AREA_OF[self.system])
            return f"{volume} in {plain(self.over)} s at {_entered(pace)} a minute"
        return f"{volume} over {_entered(self.plot)}" if self.plot else volume


def _entered(amount: Amount) -> str:
    return f"{plain(amount.value)} {unit_word(amount.unit)}"


def gallons_per_1000(caught_gal: Decimal, sprayed_sq_ft: Decimal) -> Decimal:
    """Output over a measured plot, gallons per 1,000 sq ft."""
    _above_zero(sprayed_sq_ft)
    return caught_gal * 1000 / sprayed_sq_ft


def plot_gallons_per_acre(caught_fl_oz: Decimal) -> Decimal:
    """Ounces caught in the time it takes to spray 1/128 acre are gallons per acre."""
    return caught_fl_oz


def course_length_ft(width_ft: Decimal, plot_sq_ft: Decimal = Decimal(340)) -> Decimal:
    """How far to walk at `width_ft` to cover a 1/128 acre plot (340 sq ft, as taught)."""
    _above_zero(width_ft)
    return plot_sq_ft / width_ft


def flow_ml_per_second(caught_ml: Decimal, seconds: Decimal) -> Decimal:
    """Timed flow into a graduate."""
    _above_zero(seconds)
    return caught_ml / seconds


def seconds_for(gallons: Decimal, ml_per_second: Decimal) -> Decimal:
    """How long a measured flow takes for a volume."""
    _above_zero(ml_per_second)
    return gallons * ML_PER_GAL / ml_per_second


def product_per_gallon(per_acre: Decimal, gallons_per_acre: Decimal) -> Decimal:
    """Product in each gallon of spray, in the unit of `per_acre`."""
    _above_zero(gallons_per_acre)
    return per_acre / gallons_per_acre


def linear_volume_gal(length_ft: Decimal, gal_per_10_ft: Decimal, depth_ft: int = 1) -> Decimal:
    """Trench or rod work: length / 10 × gallons × depth in feet."""
    return length_ft / 10 * gal_per_10_ft * depth_ft


def _above_zero(value: Decimal) -> None:
    if value <= 0:
        raise Refused("calibration", "A calibration needs more than zero. Measure it again.")


def measured_output(
    measuring: Measuring, caught: Decimal, over: Decimal | None, sq_ft_a_minute: Decimal | None
) -> Decimal:
    """Gallons per 1,000 sq ft from one measurement (see `Calibration` for the units).

    Refused: a measurement that lacks what its method needs, or is not above zero.
    """
    _above_zero(caught)
    if measuring == Measuring.ACRE_128TH:
        return plot_gallons_per_acre(caught) * 1000 / SQ_FT_PER_ACRE
    if over is None:
        raise Refused("calibration", "Say over how much it was caught.", field="over")
    if measuring == Measuring.AREA:
        return gallons_per_1000(caught, over)
    if sq_ft_a_minute is None:
        sentence = "Say how many square feet are covered in a minute."
        raise Refused("calibration", sentence, field="sq_ft_a_minute")
    _above_zero(sq_ft_a_minute)
    gallons_a_minute = flow_ml_per_second(caught, over) * 60 / ML_PER_GAL
    return gallons_per_1000(gallons_a_minute, sq_ft_a_minute)
