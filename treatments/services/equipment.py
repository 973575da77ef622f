"""Entering equipment and what it was measured to put out."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from sites.rules.branch_units import US
from sites.rules.units import Amount, canonical, plain
from treatments.models import Calibration, Equipment
from treatments.rules.calibration import EquipmentKind, Measurement, Measuring

if TYPE_CHECKING:
    from accounts.models import Person

THREE_DECIMALS = Decimal("0.001")
FOUR_DECIMALS = Decimal("0.0001")
MOST_GAL_PER_1000 = Decimal(1000)


@transaction.atomic
def add_equipment(
    *,
    branch_id: int,
    name: str,
    kind: str,
    tank: Amount,
    by: Person | None,
    nozzle: str = "",
    pressure_psi: Decimal | None = None,
) -> Equipment:
    """Add a piece of equipment; refused: no name or a taken one, a tank of nothing."""
    require(by, Permission.EDIT_STOCK)
    name = name.strip()
    _refuse_shape(name, tank, Equipment.objects.filter(branch_id=branch_id))
    one = Equipment.objects.create(
        branch_id=branch_id,
        name=name,
        kind=EquipmentKind(kind),
        **_tank(tank),
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
    tank: Amount,
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
    _refuse_shape(name, tank, others)
    changed = {"name": name, "nozzle": nozzle.strip(), "pressure_psi": pressure_psi, **_tank(tank)}
    for column, value in changed.items():
        setattr(one, column, value)
    one.save(update_fields=list(changed))
    note_event(by=by, act="edit_equipment", thing=one, name=name, nozzle=one.nozzle)
    return one


def _refuse_shape(name: str, tank: Amount, others: QuerySet[Equipment]) -> None:
    if not name or others.filter(name__iexact=name).exists():
        raise Refused("equipment", "The name is missing or taken. Choose another.", field="name")
    if tank.value <= 0:
        word = {"gal": "gallons", "L": "liters"}[tank.unit]
        raise Refused("equipment", f"The tank holds more than zero {word}.", field="tank")


def _tank(tank: Amount) -> dict[str, Any]:
    """The columns of a tank: as entered, in whole microliters, and in gallons."""
    return {
        "tank_entered": plain(tank.value),
        "tank_unit": tank.unit,
        "tank_ul": canonical(tank.value, tank.unit),
        "tank_gal": tank.to("gal").value.quantize(THREE_DECIMALS),
    }


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
    system: str = US,
) -> Calibration:
    """Record one measurement of an output; the latest counts for the mix.

    Entered in the units of `system`, as in `Calibration`. Refused: a day to come, a measurement
    that lacks what its method needs or gives an output no equipment has.
    """
    require(by, Permission.EDIT_STOCK)
    if measured_on > today:
        raise Refused("calibration", "That day has not come yet.", field="measured_on")
    entered = Measurement(Measuring(measuring), caught, over, sq_ft_a_minute, system)
    output, plot = entered.output, entered.plot
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
        units=system,
        caught_ul=canonical(entered.volume.value, entered.volume.unit),
        over_mm2=canonical(plot.value, plot.unit) if plot else None,
        gallons_per_1000=output.quantize(FOUR_DECIMALS),
        nozzle=nozzle.strip(),
        pressure_psi=pressure_psi,
        created_by=by,
    )
    note_event(by=by, act="calibrate", thing=found, output=str(found.gallons_per_1000))
    return found
