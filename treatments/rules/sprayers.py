"""A sprayer as it is chosen for a mix, and what to think of its measured output."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from accounts.rules.day_words import short_day
from sites.rules.branch_units import METRIC, US, output
from treatments.rules.calibration import EquipmentKind

SEASON_DAYS = 180  # house rule: measure again each season (common practice, no source)
# what spray is put out with; spreaders and dusters take no water
SPRAYERS = (
    EquipmentKind.HAND_CAN,
    EquipmentKind.BACKPACK,
    EquipmentKind.POWER_SPRAYER,
    EquipmentKind.FOGGER,
)
AGAIN = "Measure its output again before you mix."


@dataclass(frozen=True)
class Sprayer:
    """Tank and latest measurement: gallons per 1,000 sq ft, the day, nozzle and pressure then.

    `gal_per_1000` and `measured_on` are None when it was never measured.
    """

    name: str
    tank_gal: Decimal
    gal_per_1000: Decimal | None = None
    measured_on: date | None = None
    nozzle: str = ""
    pressure_psi: Decimal | None = None
    measured_nozzle: str = ""
    measured_pressure_psi: Decimal | None = None


def measurement_warnings(sprayer: Sprayer, today: date) -> tuple[str, ...]:
    """No measurement, an old one, or one with another nozzle or pressure."""
    if sprayer.gal_per_1000 is None or sprayer.measured_on is None:
        return (
            f"The output of {sprayer.name} was never measured; the label's gallons are assumed. "
            f"{AGAIN.replace(' again', '')}",
        )
    found = []
    if (today - sprayer.measured_on).days > SEASON_DAYS:
        day = short_day(sprayer.measured_on, True)
        found.append(f"{sprayer.name} was measured on {day}, longer ago than a season. {AGAIN}")
    if _changed(sprayer.nozzle, sprayer.measured_nozzle):
        found.append(
            f"{sprayer.name} was measured with nozzle {sprayer.measured_nozzle} and has "
            f"{sprayer.nozzle} now. {AGAIN}"
        )
    if _changed(sprayer.pressure_psi, sprayer.measured_pressure_psi):
        found.append(
            f"{sprayer.name} was measured at {sprayer.measured_pressure_psi} psi and works at "
            f"{sprayer.pressure_psi} psi now. {AGAIN}"
        )
    return tuple(found)


def _changed(now: str | Decimal | None, then: str | Decimal | None) -> bool:
    """Known on both days and not the same, however a nozzle is spelled."""
    return now not in ("", None) and then not in ("", None) and _plain(now) != _plain(then)


def _plain(value: str | Decimal | None) -> object:
    return " ".join(value.casefold().split()) if isinstance(value, str) else value


def output_warnings(
    sprayer: Sprayer, least: Decimal | None, most: Decimal | None, system: str = US
) -> tuple[str, ...]:
    """A measured output outside the label's gallons per 1,000 sq ft (Kansas State worksheet, read).

    In a metric branch the label's gallons are said beside it, as they are printed.
    """
    measured = sprayer.gal_per_1000
    if measured is None:
        return ()
    put_out = f"{sprayer.name} puts out {_outputs(measured, system)}"
    if least is not None and measured < least:
        return (
            f"{put_out}; the label asks for {output(least)} at least. Too little water makes "
            "the spray too concentrated: walk slower or take a larger nozzle, then measure again.",
        )
    if most is not None and measured > most:
        return (
            f"{put_out}; the label allows {output(most)} at most. Too much water runs off: "
            "walk faster or take a smaller nozzle, then measure again.",
        )
    return ()


def _outputs(gal_per_1000: Decimal, system: str) -> str:
    """An output in the units of the branch, with the label's beside it."""
    said = output(gal_per_1000, system)
    return f"{said} ({output(gal_per_1000)})" if system == METRIC else said
