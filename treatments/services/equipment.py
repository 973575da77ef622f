"""Entering equipment and what it was measured to put out."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import Calibration, Equipment
from treatments.rules.calibration import EquipmentKind, Measuring, measured_output

if TYPE_CHECKING:
    from accounts.models import Person

FOUR_DECIMALS = Decimal("0.0001")
MOST_GAL_PER_1000 = Decimal(1000)


@transaction.atomic
def add_equipment(
    *,
    branch_id: int,
    name: str,
    kind: str,
    tank_gal: Decimal,
    by: Person | None,
    nozzle: str = "",
    pressure_psi: Decimal | None = None,
) -> Equipment:
    """Add a piece of equipment; refused: no name or a taken one, a tank of nothing."""
    require(by, Permission.EDIT_STOCK)
    name = name.strip()
    _refuse_shape(name, tank_gal, Equipment.objects.filter(branch_id=branch_id))
    one = Equipment.objects.create(
        branch_id=branch_id,
        name=name,
        kind=EquipmentKind(kind),
        tank_gal=tank_gal,
        nozzle=nozzle.strip(),
        pressure_psi=pressure_psi,
        created_by=by,
    )
    note_event(by=by, act="add_equipment", thing=one, name=name)
    return one


@transaction.atomic
def edit_equipment(
    *,
    equipment_id: int,
    name: str,
    tank_gal: Decimal,
    by: Person | None,
    nozzle: str = "",
    pressure_psi: Decimal | None = None,
) -> Equipment:
    """Change how a piece is called and used; what was measured stays as it was measured.

    Refused: as `add_equipment`.
    """
    require(by, Permission.EDIT_STOCK)
    one = Equipment.objects.select_for_update(of=("self",)).filter(pk=equipment_id).first()
    if one is None:
        raise Refused("equipment", "There is no such equipment. Choose one of the list.")
    name = name.strip()
    others = Equipment.objects.filter(branch_id=one.branch_id).exclude(pk=one.pk)
    _refuse_shape(name, tank_gal, others)
    one.name, one.tank_gal = name, tank_gal
    one.nozzle, one.pressure_psi = nozzle.strip(), pressure_psi
    one.save(update_fields=["name", "tank_gal", "nozzle", "pressure_psi"])
    note_event(by=by, act="edit_equipment", thing=one, name=name, nozzle=one.nozzle)
    return one


def _refuse_shape(name: str, tank_gal: Decimal, others: QuerySet[Equipment]) -> None:
    if not name or others.filter(name__iexact=name).exists():
        raise Refused("equipment", "The name is missing or taken. Choose another.", field="name")
    if tank_gal <= 0:
        raise Refused("equipment", "The tank holds more than zero gallons.", field="tank_gal")


@transaction.atomic
def add_calibration(
    *,
    equipment_id: int,
    measured_on: date,
    measuring: str,
    caught: Decimal,
    by: Person | None,
    today: date,
    over: Decimal | None = None,
    sq_ft_a_minute: Decimal | None = None,
    nozzle: str = "",
    pressure_psi: Decimal | None = None,
) -> Calibration:
    """Record one measurement of an output; the latest counts for the mix.

    Units as in `Calibration`. Refused: a day to come, a measurement that lacks what its method
    needs or gives an output no equipment has.
    """
    require(by, Permission.EDIT_STOCK)
    if measured_on > today:
        raise Refused("calibration", "That day has not come yet.", field="measured_on")
    output = measured_output(Measuring(measuring), caught, over, sq_ft_a_minute)
    if not FOUR_DECIMALS <= output <= MOST_GAL_PER_1000:
        said = f"This gives {output:.4f} gal per 1,000 sq ft. Check each number and its unit."
        raise Refused("calibration", said, field="caught")
    found = Calibration.objects.create(
        equipment_id=equipment_id,
        measured_on=measured_on,
        measuring=measuring,
        caught=caught,
        over=over,
        sq_ft_a_minute=sq_ft_a_minute,
        gallons_per_1000=output.quantize(FOUR_DECIMALS),
        nozzle=nozzle.strip(),
        pressure_psi=pressure_psi,
        created_by=by,
    )
    note_event(by=by, act="calibrate", thing=found, output=str(found.gallons_per_1000))
    return found
