"""What was put down before in the same zones: for intervals, uses and amounts a year."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sites.rules.units import Amount, kind_of
from treatments.models import LabelUse, TreatedArea
from treatments.rules.dilutions import active_ingredient_lb
from treatments.selectors.label_facts import percent_active, pounds_per_gallon
from treatments.selectors.windows import WITHOUT_EFFECT


@dataclass(frozen=True)
class PastUse:
    """One earlier use of the same product in one zone."""

    zone_id: int
    on: date
    zone_mm2: int
    record_mm2: int
    product: Amount | None


def past_uses(use: LabelUse, zone_ids: Collection[int], on: date) -> list[PastUse]:
    """Uses of the direction's product in these zones since January 1 or within the interval.

    Only effective records; the last use of each zone is among them whenever it matters.
    """
    return past_uses_of([use], zone_ids, on)[use.label_version.product_id]


def past_uses_of(
    uses: Collection[LabelUse], zone_ids: Collection[int], on: date
) -> dict[int, list[PastUse]]:
    """The same for many directions by product, in one query: back to the longest interval."""
    found: dict[int, list[PastUse]] = {use.label_version.product_id: [] for use in uses}
    rows = TreatedArea.objects.filter(
        zone_id__in=zone_ids,
        record__label_version__product_id__in=found,
        record__applied_on__gte=min((_first_day(use, on) for use in uses), default=on),
        record__applied_on__lte=date(on.year, 12, 31),
    ).exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
    fields = ("record__label_version__product_id", "zone_id", "record__applied_on", "area_mm2")
    amounts = ("record__area_mm2", "record__product_ul", "record__product_mg")
    for product_id, zone_id, day, part, whole, volume, mass in rows.values_list(*fields, *amounts):
        past = PastUse(zone_id, day, part, whole, _amount(volume, mass))
        found[product_id].append(past)
    return found


def _first_day(use: LabelUse, on: date) -> date:
    back = on.toordinal() - use.min_interval_days
    return min(date(on.year, 1, 1), date.fromordinal(back))


def _amount(volume: int | None, mass: int | None) -> Amount | None:
    if volume is not None:
        return Amount(Decimal(volume), "uL")
    return None if mass is None else Amount(Decimal(mass), "mg")


def last_used_on(uses: Collection[PastUse], zone_id: int, on: date) -> date | None:
    """The last day up to `on` the product was used in the zone."""
    return max((one.on for one in uses if one.zone_id == zone_id and one.on <= on), default=None)


def uses_this_year(uses: Collection[PastUse], zone_id: int, on: date) -> int:
    """How often the product was used in the zone in the calendar year of `on`."""
    return sum(1 for one in uses if one.zone_id == zone_id and one.on.year == on.year)


def ingredient_lb(use: LabelUse, product: Amount | None) -> Decimal | None:
    """Pounds of active ingredient in an amount of the direction's product; None if not known."""
    if product is None:
        return None
    return active_ingredient_lb(
        product, lb_ai_per_gal=pounds_per_gallon(use), percent=percent_active(use)
    )


def product_this_year(uses: Collection[PastUse], on: date, unit: str) -> Amount | None:
    """Product put on these zones this year, by each record's share of area; None if not known."""
    total = Decimal(0)
    for one in uses:
        if one.on.year != on.year:
            continue
        if one.product is None or not one.record_mm2 or one.product.kind != kind_of(unit):
            return None
        total += one.product.to(unit).value * one.zone_mm2 / one.record_mm2
    return Amount(total, unit)


def ingredient_lb_this_year(use: LabelUse, uses: Collection[PastUse], on: date) -> Decimal | None:
    """Pounds put on these zones this year, by each record's share of area; None if not known."""
    total = Decimal(0)
    for one in uses:
        if one.on.year != on.year:
            continue
        pounds = ingredient_lb(use, one.product)
        if pounds is None or not one.record_mm2:
            return None
        total += pounds * one.zone_mm2 / one.record_mm2
    return total
