"""Why a measured output may not hold any more.

Another nozzle or pressure puts out another amount; measuring again after a year: common practice,
no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from accounts.rules.day_words import short_day

LASTS_DAYS = 365


@dataclass(frozen=True)
class Setup:
    """How equipment is used or was measured: nozzle in words, pressure in psi."""

    nozzle: str
    pressure_psi: Decimal | None


def doubts(measured: Setup, used: Setup, measured_on: date, today: date) -> tuple[str, ...]:
    """What speaks against a measurement on a day; what was not written down says nothing."""
    found = []
    if measured.nozzle and used.nozzle and _plain(measured.nozzle) != _plain(used.nozzle):
        found.append(f"Measured with {measured.nozzle}, now {used.nozzle}")
    if None not in (measured.pressure_psi, used.pressure_psi) and (
        measured.pressure_psi != used.pressure_psi
    ):
        found.append("Measured at another pressure")
    if (today - measured_on).days > LASTS_DAYS:
        found.append(f"Measured more than a year ago, on {short_day(measured_on, True)}")
    return tuple(found)


def _plain(nozzle: str) -> str:
    return " ".join(nozzle.casefold().split())
