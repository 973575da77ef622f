"""Reading equipment and the latest measurement of each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.http import Http404

from accounts.selectors.people import branches_for
from sites.rules.branch_units import output, tank
from treatments.models import Calibration, Equipment
from treatments.rules.sprayers import SPRAYERS, Sprayer, measurement_warnings

if TYPE_CHECKING:
    from accounts.models import Person


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
        """What its tank holds, in the units of its branch."""
        return tank(self.equipment.tank_gal, self.equipment.branch.units)

    @property
    def output(self) -> str:
        """The latest measured output, in the units of its branch; empty where none is."""
        return self.outputs[0][1] if self.calibrations else ""

    @property
    def outputs(self) -> tuple[tuple[Calibration, str], ...]:
        """Each measurement with its output, in the units of the branch."""
        system = self.equipment.branch.units
        return tuple((one, output(one.gallons_per_1000, system)) for one in self.calibrations)

    def doubts(self, today: date) -> tuple[str, ...]:
        """What speaks against the latest measurement on a day; nothing where there is none."""
        return measurement_warnings(_sprayer(self), today) if self.latest else ()


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
    """What a technician of a branch puts spray out with, by key, with its latest measurement."""
    rows = equipment_of_branch(branch_id)
    return {row.equipment.pk: _sprayer(row) for row in rows if row.equipment.kind in SPRAYERS}


def measured_output(equipment_id: int) -> Decimal | None:
    """Gallons per 1,000 sq ft by the latest measurement of one piece of equipment."""
    row = Equipment.objects.prefetch_related("calibrations").filter(pk=equipment_id).first()
    latest = EquipmentRow(row, tuple(row.calibrations.all())).latest if row else None
    return latest.gallons_per_1000 if latest else None


def _sprayer(row: EquipmentRow) -> Sprayer:
    one, latest = row.equipment, row.latest
    sprayer = Sprayer(one.name, one.tank_gal, nozzle=one.nozzle, pressure_psi=one.pressure_psi)
    if latest is None:
        return sprayer
    return replace(
        sprayer,
        gal_per_1000=latest.gallons_per_1000,
        measured_on=latest.measured_on,
        measured_nozzle=latest.nozzle,
        measured_pressure_psi=latest.pressure_psi,
    )
