"""Reading equipment and the latest measurement of each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db.models import F
from django.http import Http404

from accounts.selectors.people import branches_for
from sites.rules.branch_units import METRIC, output, tank
from sites.rules.units import SPRAY_UNITS, plain, unit_word
from treatments.models import Calibration, Equipment
from treatments.rules.calibration import (
    MEASURING_WORDS,
    METRIC_MEASURING_WORDS,
    Measurement,
    Measuring,
)
from treatments.rules.sprayers import SPRAYERS, Sprayer, measurement_warnings

if TYPE_CHECKING:
    from accounts.models import Person


# the columns of a measurement by the name a sprayer gives them
MEASURED = {
    "gal_per_1000": "gallons_per_1000",
    "measured_on": "measured_on",
    "measured_nozzle": "nozzle",
    "measured_pressure_psi": "pressure_psi",
}


@dataclass(frozen=True)
class EquipmentRow:
    """One piece of equipment and its measurements, the latest first."""

    equipment: Equipment
    calibrations: tuple[Calibration, ...]

    @property
    def latest(self) -> Calibration | None:
        return self.calibrations[0] if self.calibrations else None

    @property
    def tank(self) -> str:
        """What its tank holds, in the units of its branch; as entered where it was in them."""
        held, system = self.equipment.tank, self.equipment.branch.units
        if held.unit == SPRAY_UNITS[system]:
            return f"{plain(held.value)} {unit_word(held.unit)}"
        return tank(held.to("gal").value, system)

    @property
    def output(self) -> str:
        """The latest measured output, in the units of its branch; empty where none is."""
        return self.outputs[0][1] if self.calibrations else ""

    @property
    def outputs(self) -> tuple[tuple[Calibration, str, str], ...]:
        """Each measurement with its output in the units of the branch, and as it was entered."""
        system = self.equipment.branch.units
        return tuple(
            (one, output(one.gallons_per_1000, system), _measured(one)) for one in self.calibrations
        )

    def doubts(self, today: date) -> tuple[str, ...]:
        """What speaks against the latest measurement on a day; nothing where there is none."""
        return measurement_warnings(_sprayer(self), today) if self.latest else ()


def _measured(one: Calibration) -> str:
    words = METRIC_MEASURING_WORDS if one.units == METRIC else MEASURING_WORDS
    how = Measuring(one.measuring)
    said = Measurement(how, one.caught, one.over, one.sq_ft_a_minute, one.units)
    return f"{words[how]}: {said.words}"


def equipment_rows(person: Person) -> tuple[EquipmentRow, ...]:
    """The equipment of the person's branches; two queries."""
    rows = Equipment.objects.filter(branch__in=branches_for(person))
    named = rows.select_related("branch").prefetch_related("calibrations")
    return tuple(EquipmentRow(one, tuple(one.calibrations.all())) for one in named)


def equipment_for(person: Person, pk: int) -> EquipmentRow:
    """One piece of equipment of the person's branches; otherwise Http404."""
    found = next((row for row in equipment_rows(person) if row.equipment.pk == pk), None)
    if found is None:
        raise Http404
    return found


def equipment_of_branch(branch_id: int) -> tuple[EquipmentRow, ...]:
    """The equipment a technician of a branch may mix for."""
    rows = Equipment.objects.filter(branch_id=branch_id).prefetch_related("calibrations")
    return tuple(EquipmentRow(one, tuple(one.calibrations.all())) for one in rows)


def sprayers_of_branch(branch_id: int) -> dict[int, Sprayer]:
    """What a technician of a branch puts spray out with, by key, with its latest measurement.

    One query: a row for each measurement, of the latest first, and one where there is none.
    """
    measured = {name: F(f"calibrations__{column}") for name, column in MEASURED.items()}
    rows = Equipment.objects.filter(branch_id=branch_id, kind__in=SPRAYERS).annotate(**measured)
    latest_first = (F(f"calibrations__{name}").desc() for name in ("measured_on", "pk"))
    found: dict[int, Sprayer] = {}
    for row in rows.order_by("branch", "name", *latest_first):
        found.setdefault(row.pk, _with_latest(row))
    return found


def measured_output(equipment_id: int) -> Decimal | None:
    """Gallons per 1,000 sq ft by the latest measurement of one piece of equipment."""
    row = Equipment.objects.prefetch_related("calibrations").filter(pk=equipment_id).first()
    latest = EquipmentRow(row, tuple(row.calibrations.all())).latest if row else None
    return latest.gallons_per_1000 if latest else None


def _with_latest(row: Any) -> Sprayer:
    """A row with its latest measurement beside it, as `sprayers_of_branch` reads it."""
    sprayer = _unmeasured(row)
    if row.gal_per_1000 is None:
        return sprayer
    return replace(sprayer, **{name: getattr(row, name) for name in MEASURED})


def _unmeasured(one: Equipment) -> Sprayer:
    tank_gal = one.tank.to("gal").value
    return Sprayer(one.name, tank_gal, nozzle=one.nozzle, pressure_psi=one.pressure_psi)


def _sprayer(row: EquipmentRow) -> Sprayer:
    latest, sprayer = row.latest, _unmeasured(row.equipment)
    if latest is None:
        return sprayer
    return replace(sprayer, **{name: getattr(latest, column) for name, column in MEASURED.items()})
