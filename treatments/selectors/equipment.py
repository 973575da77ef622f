"""Reading equipment and the latest measurement of each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.http import Http404

from accounts.selectors.people import branches_for
from treatments.models import Calibration, Equipment
from treatments.rules.calibration_doubts import Setup, doubts

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

    def doubts(self, today: date) -> tuple[str, ...]:
        """What speaks against the latest measurement on a day."""
        if self.latest is None:
            return ()
        measured = Setup(self.latest.nozzle, self.latest.pressure_psi)
        used = Setup(self.equipment.nozzle, self.equipment.pressure_psi)
        return doubts(measured, used, self.latest.measured_on, today)


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
