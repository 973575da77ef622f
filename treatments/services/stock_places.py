"""Where product is kept and when it is ordered again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import LabelVersion, ReorderLevel, StockPlace
from treatments.rules.stock import PlaceKind, stock_amount
from treatments.selectors.stock import label_named, label_unit

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def add_place(
    *,
    branch_id: int,
    kind: str,
    name: str,
    by: Person | None,
    plate: str = "",
    technician_id: int | None = None,
) -> StockPlace:
    """Add a store or a vehicle.

    Refused: no name or a taken one, a technician for a store, a technician with a vehicle.
    """
    require(by, Permission.EDIT_STOCK)
    name = name.strip()
    if not name or StockPlace.objects.filter(branch_id=branch_id, name__iexact=name).exists():
        raise Refused("place", "The name is missing or taken. Choose another.", field="name")
    if kind == PlaceKind.STORE and (technician_id or plate.strip()):
        sentence = "A store has no plate and nobody drives it. Choose the kind vehicle."
        raise Refused("place", sentence, field="kind")
    if technician_id and StockPlace.objects.filter(technician_id=technician_id).exists():
        sentence = "This technician has a vehicle already. Choose somebody else."
        raise Refused("place", sentence, field="technician")
    place = StockPlace.objects.create(
        branch_id=branch_id,
        kind=PlaceKind(kind),
        name=name,
        plate=plate.strip().upper(),
        technician_id=technician_id,
        created_by=by,
    )
    note_event(by=by, act="add_stock_place", thing=place, name=name)
    return place


@transaction.atomic
def set_reorder_level(
    *, branch_id: int, label_version_id: int, amount: str, unit: str, by: Person | None
) -> ReorderLevel:
    """Say below how much of a product a branch orders again; the label gives the kind of unit."""
    require(by, Permission.EDIT_STOCK)
    label = known_label(label_version_id)
    stock_amount(amount, unit, label_unit=label_unit(label.pk) or unit)
    level, _ = ReorderLevel.objects.update_or_create(
        branch_id=branch_id,
        product_id=label.product_id,
        defaults={"amount": amount.strip(), "unit": unit, "created_by": by},
    )
    note_event(by=by, act="set_reorder_level", thing=level, amount=f"{amount.strip()} {unit}")
    return level


def known_label(label_version_id: int) -> LabelVersion:
    """One label with its product; refused when there is none."""
    label = label_named(label_version_id)
    if label is None:
        raise Refused("label", "There is no such label. Choose one of the list.")
    return label
