"""What a zone will need again, and what trucks and stores have of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from sites.rules.units import canonical, kind_of
from sites.selectors.properties import zone_measure
from treatments.models import LabelUse, ProductLot, ResidualWindow, StockPlace
from treatments.rules.applications import treated_size
from treatments.rules.loading import ShelfLot, label_amount, share_of
from treatments.rules.products import RateBasis
from treatments.rules.rate_choices import offered_or_low, wanted_rate
from treatments.rules.stock import PlaceKind
from treatments.selectors.labels import directions_offered, firm_rate_of
from treatments.selectors.stock import on_hand
from treatments.selectors.stock_rows import REFUSED, standing

if TYPE_CHECKING:
    from sites.models import TreatableZone
    from treatments.models import ApplicationRecord, TreatedArea

Goods = tuple[str, str]  # product by name, and the kind it is measured by


@dataclass(frozen=True)
class Need:
    """So much of a product for one zone, in whole uL or mg; `unit` to show it in.

    `source` says where the amount comes from: the last record, or the label.
    """

    product: str
    quantity: int
    unit: str
    source: str

    @property
    def goods(self) -> Goods:
        return self.product, kind_of(self.unit)


@dataclass(frozen=True)
class Shelves:
    """Usable product by vehicle, and the lots of each branch's stores, the oldest first."""

    aboard: dict[tuple[int, Goods], int]
    stores: dict[tuple[int, Goods], list[ShelfLot]]
    vehicles: dict[int, StockPlace]


def needs_by_zone(
    rows: Iterable[tuple[TreatableZone, ResidualWindow]], day: date
) -> dict[int, Need | None]:
    """What each zone will need, by the window that lapses there; None where nothing says it.

    The windows come with treated area, record, direction and historic treatment read already.
    """
    windows = list(rows)
    is_written = any(window.historic_id for _, window in windows)
    directions = directions_offered(day) if is_written else []
    return {zone.pk: _need(zone, window, directions) for zone, window in windows}


def _need(
    zone: TreatableZone, window: ResidualWindow, directions: Collection[LabelUse]
) -> Need | None:
    if window.treated_area is not None:
        area = window.treated_area
        return _as_last_time(area, area.record) or _by_label(zone, area.record.label_use)
    if window.historic is None:
        return None
    return _by_label(zone, _named(window.historic.product_as_written, zone.place, directions))


def _as_last_time(area: TreatedArea, record: ApplicationRecord) -> Need | None:
    amount = record.product_ul if record.product_ul is not None else record.product_mg
    if not amount or not record.product_name:
        return None
    part, whole = area.area_mm2, record.area_mm2
    if not whole:
        part, whole = area.length_mm, record.length_mm
    share = share_of(amount, part, whole)
    return Need(record.product_name, share, record.product_unit, "as last time")


def _named(written: str, place: str, directions: Collection[LabelUse]) -> LabelUse | None:
    """The direction in force of a product by the name a spreadsheet wrote."""
    name = written.strip().casefold()
    fitting = (use for use in directions if place in use.places)
    return next((use for use in fitting if _product(use).casefold() == name), None)


def _product(use: LabelUse) -> str:
    return use.label_version.product.name


def _by_label(zone: TreatableZone, use: LabelUse | None) -> Need | None:
    if use is None:
        return None
    firm = offered_or_low(firm_rate_of(use), use.rate_min, use.rate_max)
    amount = label_amount(
        RateBasis(use.rate_basis),
        wanted_rate(use.rate_min, use.rate_max, firm),
        use.rate_unit,
        treated_size(zone_measure(zone), None),
        use.gallons_per_1000,
    )
    if amount is None or amount.kind not in ("volume", "mass"):
        return None
    return Need(_product(use), canonical(amount.value, amount.unit), amount.unit, "by the label")


def shelves(branch_ids: Collection[int], day: date) -> Shelves:
    """What is usable on a day in the stores and vehicles of these branches; five queries."""
    places = {one.pk: one for one in StockPlace.objects.filter(branch__in=branch_ids)}
    lots = ProductLot.objects.filter(branch__in=branch_ids)
    lots = lots.select_related("label_version__product")
    lots = lots.prefetch_related("label_version__withdrawals")
    where: dict[int, list[tuple[StockPlace, int]]] = defaultdict(list)
    for (lot_id, place_id), quantity in on_hand().items():
        if place_id in places:
            where[lot_id].append((places[place_id], quantity))
    drivers = {one.technician_id: one for one in places.values() if one.technician_id}
    found = Shelves(defaultdict(int), defaultdict(list), drivers)
    for lot in lots.order_by("received_on", "pk"):
        for place, quantity in where[lot.pk]:
            _put(found, lot, place, quantity, day)
    return found


def _put(found: Shelves, lot: ProductLot, place: StockPlace, quantity: int, day: date) -> None:
    goods = (lot.label_version.product.name, kind_of(lot.container_unit))
    if quantity > 0 and standing(lot, quantity, day)[0] == REFUSED:
        return
    if place.kind == PlaceKind.VEHICLE:
        found.aboard[place.pk, goods] += quantity
    elif place.kind == PlaceKind.STORE and quantity > 0:
        container = canonical(Decimal(lot.container_size), lot.container_unit)
        row = ShelfLot(lot.lot_number, place.name, quantity, container)
        found.stores[place.branch_id, goods].append(row)
