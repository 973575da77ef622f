"""Reading vehicles: who drives them, what is aboard, what the last check found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.db.models import OuterRef, QuerySet, Subquery
from django.http import Http404

from accounts.permissions import Permission, allows
from accounts.rules.day_words import short_day
from accounts.rules.register import Band, PaperKind, RegisterLine
from treatments.models import StockPlace, VehicleCheck
from treatments.rules.stock import PlaceKind
from treatments.rules.vehicles import (
    ITEM_WORDS,
    CheckStanding,
    VehicleItem,
    check_standing,
    due_on,
)
from treatments.selectors.stock import lots_for, on_hand, places_for, vehicle_of
from treatments.selectors.stock_rows import StockRow, stock_rows

if TYPE_CHECKING:
    from accounts.models import Person

CHECKS_SHOWN = 12


@dataclass(frozen=True)
class VehicleRow:
    """One vehicle with its last check in words."""

    place: StockPlace
    checked: str
    standing: CheckStanding
    checked_on: date | None = None


@dataclass(frozen=True)
class ItemLine:
    """One thing of a check in words."""

    name: str
    is_present: bool
    note: str


@dataclass(frozen=True)
class CheckLine:
    """One check: on which day, by whom, what was found."""

    on: str
    by: str
    items: tuple[ItemLine, ...]


@dataclass(frozen=True)
class VehiclePage:
    """One vehicle: its last checks and the lots aboard."""

    row: VehicleRow
    checks: tuple[CheckLine, ...]
    aboard: tuple[StockRow, ...]
    may_check: bool


def vehicle_rows(person: Person | None, today: date) -> tuple[VehicleRow, ...]:
    """The vehicles of the person's branches with the last check of each; three queries."""
    vehicles = list(_with_latest(places_for(person).filter(kind=PlaceKind.VEHICLE)))
    checks = _checks_by_key(one.latest for one in vehicles)  # type: ignore[attr-defined]
    return tuple(_row(one, checks, today) for one in vehicles)


def _with_latest(vehicles: QuerySet[StockPlace]) -> QuerySet[StockPlace]:
    newest = VehicleCheck.objects.filter(vehicle=OuterRef("pk"))
    latest = Subquery(newest.order_by("-checked_at", "-pk").values("pk")[:1])
    return vehicles.annotate(latest=latest)


def _checks_by_key(keys: Iterable[int | None]) -> dict[int, VehicleCheck]:
    wanted = [key for key in keys if key is not None]
    rows = VehicleCheck.objects.filter(pk__in=wanted).prefetch_related("items")
    return {one.pk: one for one in rows.select_related("created_by")}


def _row(vehicle: StockPlace, checks: dict[int, VehicleCheck], today: date) -> VehicleRow:
    last = checks.get(vehicle.latest or 0)  # type: ignore[attr-defined]
    missing = [one.item for one in last.items.all() if not one.is_present] if last else []
    return VehicleRow(
        place=vehicle,
        checked=_checked(last) if last else "",
        standing=check_standing(last.checked_on if last else None, today, missing),
        checked_on=last.checked_on if last else None,
    )


def _checked(check: VehicleCheck) -> str:
    by = check.created_by.full_name if check.created_by else "the system"
    return f"{short_day(check.checked_on, True)} by {by}"


def vehicle_for(person: Person, pk: int) -> StockPlace:
    """A vehicle of the person's branches, a technician's own only; otherwise Http404."""
    vehicles = places_for(person).filter(pk=pk, kind=PlaceKind.VEHICLE)
    if not allows(person, Permission.SEE_STOCK):
        vehicles = vehicles.filter(technician=person)
    found = vehicles.first()
    if found is None:
        raise Http404("No such vehicle.")
    return found


def vehicle_page(person: Person, pk: int, today: date) -> VehiclePage:
    """One vehicle with its last checks and what is aboard; otherwise Http404."""
    vehicle = vehicle_for(person, pk)
    checks = list(
        VehicleCheck.objects.filter(vehicle=vehicle)
        .select_related("created_by")
        .prefetch_related("items")[:CHECKS_SHOWN]
    )
    vehicle.latest = checks[0].pk if checks else None  # type: ignore[attr-defined]
    aboard = on_hand(place_id=vehicle.pk)
    lots = lots_for(person).filter(pk__in=[lot_id for lot_id, _ in aboard])
    return VehiclePage(
        row=_row(vehicle, {one.pk: one for one in checks}, today),
        checks=tuple(_check_line(one) for one in checks),
        aboard=stock_rows(lots, {vehicle.pk: vehicle}, aboard, today),
        may_check=_may_check(person, vehicle),
    )


def vehicle_to_check(person: Person, pk: int) -> StockPlace:
    """A vehicle the person may check: the own one, a manager any; otherwise Http404."""
    vehicle = vehicle_for(person, pk)
    if not _may_check(person, vehicle):
        raise Http404("Not your vehicle.")
    return vehicle


def _may_check(person: Person, vehicle: StockPlace) -> bool:
    is_own = vehicle.technician_id == person.pk
    may = allows(person, Permission.CHECK_VEHICLES)
    return may and (is_own or allows(person, Permission.EDIT_STOCK))


def _check_line(check: VehicleCheck) -> CheckLine:
    return CheckLine(
        on=short_day(check.checked_on, True),
        by=check.created_by.full_name if check.created_by else "the system",
        items=tuple(
            ItemLine(ITEM_WORDS[VehicleItem(one.item)], one.is_present, one.note)
            for one in check.items.all()
        ),
    )


def own_vehicle(person: Person, today: date) -> VehicleRow | None:
    """The vehicle a technician drives with its last check; None when no stock is kept for them."""
    vehicle = vehicle_of(person.pk)
    if vehicle is None:
        return None
    check = (
        VehicleCheck.objects.filter(vehicle=vehicle)
        .select_related("created_by")
        .prefetch_related("items")
        .first()
    )
    vehicle.latest = check.pk if check else None  # type: ignore[attr-defined]
    return _row(vehicle, {check.pk: check} if check else {}, today)


def vehicle_lines(person: Person | None, today: date) -> list[RegisterLine]:
    """The next check of every vehicle of a person's branches as the register shows it."""
    return [_register_line(row) for row in vehicle_rows(person, today)]


def own_vehicle_line(person: Person, today: date) -> list[RegisterLine]:
    """The next check of the vehicle somebody drives; none where no stock is kept for them."""
    row = own_vehicle(person, today)
    return [_register_line(row)] if row else []


def _register_line(row: VehicleRow) -> RegisterLine:
    """It warns once it is overdue: a weekly check is always near."""
    place = row.place
    return RegisterLine(
        kind=PaperKind.VEHICLE_CHECK,
        thing=f"treatments.stockplace:{place.pk}",
        branch_id=place.branch_id,
        branch=place.branch.name,
        holder=place.name,
        what="Weekly check",
        until=due_on(row.checked_on or place.created_at.date()),
        person_id=place.technician_id,
        url=place.get_absolute_url(),
        first_band=Band.OVER,
    )
