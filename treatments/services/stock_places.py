"""Where product is kept and when it is ordered again."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import technicians_of
from accounts.services.audit import note_event
from treatments.models import LabelVersion, PastDriver, ReorderLevel, StockPlace
from treatments.rules.stock import PLACE_WORDS, PlaceKind, stock_amount
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
    now: datetime | None = None,
) -> StockPlace:
    """Add a store, a vehicle or a rinsate container.

    From `now` on the technician's records take from it; without it from the beginning.
    Refused: no name or a taken one, a technician for what is no vehicle, one with a vehicle or of
    another branch.
    """
    require(by, Permission.EDIT_STOCK)
    name = name.strip()
    branch_places = StockPlace.objects.filter(branch_id=branch_id)
    _refuse_name(name, branch_places)
    if kind != PlaceKind.VEHICLE and (technician_id or plate.strip()):
        word = PLACE_WORDS[PlaceKind(kind)].lower()
        sentence = f"A {word} has no plate and nobody drives it. Choose the kind vehicle."
        raise Refused("place", sentence, field="kind")
    _refuse_driver(technician_id, branch_id, StockPlace.objects.all())
    place = StockPlace.objects.create(
        branch_id=branch_id,
        kind=PlaceKind(kind),
        name=name,
        plate=plate.strip().upper(),
        technician_id=technician_id,
        technician_since=now if technician_id else None,
        created_by=by,
    )
    note_event(by=by, act="add_stock_place", thing=place, name=name)
    return place


@transaction.atomic
def edit_place(
    *,
    place_id: int,
    name: str,
    by: Person | None,
    now: datetime,
    plate: str = "",
    technician_id: int | None = None,
) -> StockPlace:
    """Change what a place is called and who drives it; its kind and branch stay.

    Refused: as `add_place`. The moves stay where they were made, and a record belongs to the
    vehicle of its day, whoever drives it now.
    """
    require(by, Permission.EDIT_STOCK)
    place = StockPlace.objects.select_for_update(of=("self",)).filter(pk=place_id).first()
    if place is None:
        raise Refused("place", "There is no such place. Choose one of the list.")
    name, plate = name.strip(), plate.strip().upper()
    others = StockPlace.objects.exclude(pk=place.pk)
    _refuse_name(name, others.filter(branch_id=place.branch_id))
    if place.kind != PlaceKind.VEHICLE and (technician_id or plate):
        sentence = f"{place} is no vehicle: it has no plate and nobody drives it."
        raise Refused("place", sentence, field="plate" if plate else "technician")
    _refuse_driver(technician_id, place.branch_id, others)
    if place.technician_id != technician_id:
        _hand_over(place, technician_id, by, now)
    place.name, place.plate = name, plate
    place.save(update_fields=["name", "plate", "technician", "technician_since"])
    note_event(by=by, act="edit_stock_place", thing=place, name=name, driver=technician_id or "")
    return place


def _hand_over(
    place: StockPlace, technician_id: int | None, by: Person | None, now: datetime
) -> None:
    if place.technician_id is not None:
        PastDriver.objects.create(
            place=place,
            technician_id=place.technician_id,
            since=place.technician_since,
            until=now,
            created_by=by,
        )
    place.technician_id = technician_id
    place.technician_since = now if technician_id else None


def _refuse_name(name: str, others: QuerySet[StockPlace]) -> None:
    if not name or others.filter(name__iexact=name).exists():
        raise Refused("place", "The name is missing or taken. Choose another.", field="name")


def _refuse_driver(technician_id: int | None, branch_id: int, others: QuerySet[StockPlace]) -> None:
    if technician_id and not technicians_of(branch_id).filter(pk=technician_id).exists():
        sentence = "A vehicle is driven by a technician of its own branch. Choose another."
        raise Refused("place", sentence, field="technician")
    if technician_id and others.filter(technician_id=technician_id).exists():
        sentence = "This technician has a vehicle already. Choose somebody else."
        raise Refused("place", sentence, field="technician")


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
    if label is None or label.is_draft:
        raise Refused("label", "There is no such label. Choose one of the list.")
    return label
