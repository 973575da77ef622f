"""Writing what to watch for at a property, what its customer asked for, and its units."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.selectors.customers import contacts_of
from accounts.services.audit import note_event
from sites.models import Preference, SiteCaution, Unit
from sites.rules.places import CAUTION_WORDS, PREFERENCE_WORDS
from sites.selectors.properties import (
    caution_for,
    preference_for,
    property_for,
    unit_for,
    units_of,
)

if TYPE_CHECKING:
    from accounts.models import Person


def add_caution(*, property_id: int, kind: str, by: Person | None, note: str = "") -> SiteCaution:
    """Note something to watch for. Refused: an unknown kind, a note over 200 letters."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        made = SiteCaution.objects.create(
            property=property_for(by, property_id),
            kind=one_of(kind, list(CAUTION_WORDS), field="kind", label="What to watch for"),
            note=line(note, field="note", label="Note", most=200, needed=False),
            created_by=by,
        )
        note_event(by=by, act="caution_added", thing=made.property, kind=kind)
    return made


def remove_caution(*, caution_id: int, by: Person | None) -> None:
    """Take away something that need not be watched any more."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        caution = caution_for(by, caution_id)
        note_event(by=by, act="caution_removed", thing=caution.property, kind=caution.kind)
        caution.delete()


def add_preference(
    *,
    property_id: int,
    kind: str,
    said_by: str,
    said_on: date,
    by: Person | None,
    is_hard: bool = True,
    note: str = "",
    unit_id: int | None = None,
) -> Preference:
    """Note what the customer asked for or refused, who said so and when.

    A hard one joins the label check. Refused: an unknown kind, nobody named, a refused product
    that is not named, a unit of another property.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        place = property_for(by, property_id)
        _refuse_nameless(kind, note)
        made = Preference.objects.create(
            property=place,
            unit=_unit_of(place.pk, unit_id),
            kind=one_of(kind, list(PREFERENCE_WORDS), field="kind", label="What was asked for"),
            is_hard=is_hard,
            note=line(note, field="note", label="Note", most=200, needed=False),
            said_by=line(said_by, field="said_by", label="Who said so", most=120),
            said_on=said_on,
            created_by=by,
        )
        note_event(by=by, act="preference_added", thing=place, kind=kind, is_hard=is_hard)
    return made


def remove_preference(*, preference_id: int, by: Person | None) -> None:
    """Take away what the customer does not ask for any more."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        wish = preference_for(by, preference_id)
        note_event(by=by, act="preference_removed", thing=wish.property, kind=wish.kind)
        wish.delete()


def add_unit(
    *,
    property_id: int,
    number: str,
    by: Person | None,
    floor: str = "",
    is_occupied: bool = True,
    occupant_id: int | None = None,
) -> Unit:
    """Enter an apartment or suite.

    Refused: a number the property has already, an occupant who is no contact of its customer.
    """
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        unit = Unit(property=property_for(by, property_id), created_by=by)
        _fill(unit, number, floor, is_occupied, occupant_id)
        note_event(by=by, act="unit_added", thing=unit, property=property_id)
    return unit


def edit_unit(
    *,
    unit_id: int,
    number: str,
    by: Person | None,
    floor: str = "",
    is_occupied: bool = True,
    occupant_id: int | None = None,
) -> Unit:
    """Change a unit; refused as in `add_unit`."""
    require(by, Permission.EDIT_PROPERTIES)
    with transaction.atomic():
        unit = unit_for(by, unit_id)
        _fill(unit, number, floor, is_occupied, occupant_id)
        note_event(by=by, act="unit_edited", thing=unit)
    return unit


def _fill(unit: Unit, number: str, floor: str, is_occupied: bool, occupant_id: int | None) -> None:
    unit.number = line(number, field="number", label="Number", most=20)
    unit.floor = line(floor, field="floor", label="Floor", most=20, needed=False)
    unit.is_occupied = is_occupied
    unit.occupant_id = _occupant(unit, occupant_id)
    try:
        with transaction.atomic():
            unit.save()
    except IntegrityError as failure:
        raise Refused(
            "unit_exists",
            f"This property has a unit {unit.number} already. Change that one instead.",
            field="number",
        ) from failure


def _occupant(unit: Unit, occupant_id: int | None) -> int | None:
    if occupant_id is None:
        return None
    if not contacts_of(unit.property.customer_id).filter(pk=occupant_id).exists():
        raise Refused(
            "occupant", "Choose a contact of this customer, or add one first.", field="occupant"
        )
    return occupant_id


def _unit_of(property_id: int, unit_id: int | None) -> Unit | None:
    if unit_id is None:
        return None
    unit = units_of(property_id).filter(pk=unit_id).first()
    if unit is None:
        raise Refused("unit", "Choose a unit of this property from the list.", field="unit")
    return unit


def _refuse_nameless(kind: str, note: str) -> None:
    if kind == "product_refused" and not note.strip():
        raise Refused("missing", "Name the product that is refused in the note.", field="note")
