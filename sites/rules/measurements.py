"""How large a zone is, and the sentence that shows how it was counted.

Formulas: plane geometry. The simple band is common practice, no source; a zone stores which form
was used.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.places import Corners, Geometry
from sites.rules.units import Amount, display, group, plain

PI = Decimal("3.141592653589793238462643383")
CORNER_FACTORS: dict[Corners, Decimal] = {
    Corners.SIMPLE: Decimal(0),
    Corners.SQUARE: Decimal(4),
    Corners.ROUNDED: PI,
}
AREA_UNITS = {"ft": "ft2", "m": "m2"}
SPACE_UNITS = {"ft": "ft3", "m": "m3"}


def rectangle_perimeter(length: Decimal, width: Decimal) -> Decimal:
    """2 (L + W), in the unit of both."""
    return 2 * (length + width)


def band_area(
    run: Decimal,
    up: Decimal,
    out: Decimal,
    corners: Corners = Corners.SIMPLE,
    factor: Decimal | None = None,
) -> Decimal:
    """Area of a band along `run`, `up` the wall and `out` from it, in the square of their unit.

    Square outside corners add 4 out², a rounded sweep adds pi out² (convex plan); `factor` is how
    many out² they add where the walls are known.
    """
    added = CORNER_FACTORS[corners] if factor is None else factor
    return run * (up + out) + added * out * out


def circle_area(diameter: Decimal) -> Decimal:
    """pi d² / 4."""
    return PI * diameter * diameter / 4


def triangle_area(base: Decimal, height: Decimal) -> Decimal:
    """Half of base times height."""
    return base * height / 2


@dataclass(frozen=True)
class ZoneMeasure:
    """The measured size of a zone; lengths are in `unit`, ft or m.

    A count zone keeps its number of places in `wall_run`; a space zone is run × up × out.
    `factor` is how many out² the corners of its own walls add, if they are known.
    Refused: a length below zero, a unit other than ft or m.
    """

    geometry: Geometry
    wall_run: Decimal
    height_up: Decimal = Decimal(0)
    width_out: Decimal = Decimal(0)
    corners: Corners = Corners.SIMPLE
    unit: str = "ft"
    factor: Decimal | None = None

    def __post_init__(self) -> None:
        if self.unit not in AREA_UNITS:
            raise Refused("unit", f"A zone is measured in ft or m, not {self.unit[:20]!r}.")
        if min(self.wall_run, self.height_up, self.width_out) < 0:
            raise Refused("measure", "A zone is never smaller than zero. Measure it again.")

    @property
    def area(self) -> Amount:
        """Treated area; zero for spaces and counts."""
        return Amount(self._square(), AREA_UNITS[self.unit])

    @property
    def size(self) -> Amount:
        """What the zone is counted in: area, length, space or number of places."""
        match self.geometry:
            case Geometry.LINEAR:
                return Amount(self.wall_run, self.unit)
            case Geometry.VOLUME:
                space = self.wall_run * self.height_up * self.width_out
                return Amount(space, SPACE_UNITS[self.unit])
            case Geometry.COUNT:
                return Amount(self.wall_run, "each")
        return self.area

    @property
    def size_words(self) -> str:
        """The size for people: "1,080 sq ft", "22 ft"."""
        return self._result(self.size)

    @property
    def sentence(self) -> str:
        """The sum as one would check it by hand: "180 ft × (3 up + 3 out) = 1,080 sq ft"."""
        match self.geometry:
            case Geometry.LINEAR:
                return f"{group(self.wall_run)} {self.unit} along"
            case Geometry.COUNT:
                return f"{group(self.wall_run)} places"
            case Geometry.VOLUME:
                return f"{self._volume_words()} = {self._result(self.size)}"
        return f"{self._band_words()} = {self._result(self.area)}"

    def _square(self) -> Decimal:
        if self.geometry in (Geometry.VOLUME, Geometry.COUNT):
            return Decimal(0)
        corners = self.corners if self.geometry == Geometry.BAND else Corners.SIMPLE
        factor = None if corners == Corners.SIMPLE else self.factor
        return band_area(self.wall_run, self.height_up, self.width_out, corners, factor)

    def _volume_words(self) -> str:
        sides = (self.wall_run, self.height_up, self.width_out)
        return " × ".join(plain(side) for side in sides) + f" {self.unit}"

    def _band_words(self) -> str:
        run = f"{group(self.wall_run)} {self.unit}"
        band = f"{run} × ({plain(self.height_up)} up + {plain(self.width_out)} out)"
        if self.geometry != Geometry.BAND or self.corners == Corners.SIMPLE:
            return band
        return f"{band} {self._factor_words()} × {plain(self.width_out)}² at the corners"

    def _factor_words(self) -> str:
        """ "+ 4", or "- 1" where inside corners take away more than outside ones add."""
        if self.factor is not None:
            return f"{'-' if self.factor < 0 else '+'} {plain(abs(self.factor))}"
        return "+ 4" if self.corners == Corners.SQUARE else "+ π"

    @staticmethod
    def _result(amount: Amount) -> str:
        whole = amount.value == amount.value.to_integral_value()
        return display(amount, 0 if whole else 2)


def zone_area(measure: ZoneMeasure) -> Decimal:
    """Treated area in square feet, whatever the zone was measured in."""
    return measure.area.to("ft2").value


def total_area(measures: tuple[ZoneMeasure, ...]) -> Decimal:
    """Sum of the zones in square feet."""
    return sum((zone_area(one) for one in measures), Decimal(0))
