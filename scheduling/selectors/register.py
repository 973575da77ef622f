"""The whole register: papers of people and firm, and the checks of the vehicles."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from accounts.rules.register import RegisterLine, soonest
from accounts.selectors.register import own_lines, register_lines
from treatments.selectors.vehicles import own_vehicle_line, vehicle_lines

if TYPE_CHECKING:
    from accounts.models import Person


def whole_register(person: Person | None, today: date) -> list[RegisterLine]:
    """Everything that runs out at the person's branches, soonest first; None is the firm."""
    return soonest([*register_lines(person, today), *vehicle_lines(person, today)])


def own_register(person: Person, today: date) -> list[RegisterLine]:
    """What runs out of a person's own papers and the vehicle they drive."""
    return soonest([*own_lines(person, today), *own_vehicle_line(person, today)])
