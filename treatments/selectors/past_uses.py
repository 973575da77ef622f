"""What was put down before in the same zones: for intervals, uses and amounts a year."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sites.rules.units import Amount, kind_of
from treatments.models import LabelUse, ProductIngredient, TreatedArea
from treatments.rules.dilutions import active_ingredient_lb
from treatments.rules.label_checks import IngredientUse
from treatments.selectors.windows import WITHOUT_EFFECT


@dataclass(frozen=True)
class PastUse:
    """One earlier use of a product in one zone."""

    zone_id: int
    product_id: int
    on: date
    zone_mm2: int
    record_mm2: int
    product: Amount | None


def past_uses(
    directions: Collection[LabelUse], zone_ids: Collection[int], on: date
) -> list[PastUse]:
    """Uses of any product in these zones since January 1 or within the longest interval.

    Only effective records; the last use of each zone is among them whenever it matters.
    """
    rows = TreatedArea.objects.filter(
        zone_id__in=zone_ids,
        record__label_version__isnull=False,
        record__applied_on__gte=min((_first_day(use, on) for use in directions), default=on),
        record__applied_on__lte=date(on.year, 12, 31),
    ).exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
    fields = ("zone_id", "record__label_version__product_id", "record__applied_on")
    amounts = ("area_mm2", "record__area_mm2", "record__product_ul", "record__product_mg")
    return [
        PastUse(zone_id, product_id, day, part, whole, _amount(volume, mass))
        for zone_id, product_id, day, part, whole, volume, mass in rows.values_list(
            *fields, *amounts
        )
    ]


def of_product(use: LabelUse, uses: Collection[PastUse]) -> list[PastUse]:
    """The uses of the direction's own product: what its interval and its uses a year count."""
    return [one for one in uses if one.product_id == use.label_version.product_id]


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


Strengths = dict[int, dict[int, ProductIngredient]]


def strengths_of(directions: Collection[LabelUse], uses: Collection[PastUse]) -> Strengths:
    """Which products hold the directions' active ingredients, and how strong, by ingredient.

    One query when other products were used here, else none.
    """
    products = {one.label_version.product_id: one.label_version.product for one in directions}
    found: Strengths = {}
    for product in products.values():
        for row in product.ingredients.all():
            found.setdefault(row.ingredient_id, {})[product.pk] = row
    others = {one.product_id for one in uses} - set(products)
    if others:
        holding = ProductIngredient.objects.filter(product_id__in=others, ingredient_id__in=found)
        for row in holding:
            found[row.ingredient_id][row.product_id] = row
    return found


def ingredient_used_on(
    use: LabelUse, uses: Collection[PastUse], strengths: Strengths, zone_id: int, on: date
) -> date | None:
    """The last day up to `on` another product with one of the ingredients was used in the zone."""
    product = use.label_version.product
    own = [row.ingredient_id for row in product.ingredients.all()]
    alike = {product_id for ingredient in own for product_id in strengths[ingredient]}
    alike.discard(product.pk)
    return last_used_on([one for one in uses if one.product_id in alike], zone_id, on)


def ingredients_of(
    use: LabelUse,
    product: Amount | None,
    uses: Collection[PastUse],
    strengths: Strengths,
    on: date,
) -> tuple[IngredientUse, ...]:
    """Each active ingredient of the direction's product, with what every product put of it here.

    Pounds are by each record's share of area; None where an amount or a strength is not known.
    """
    this_year = [one for one in uses if one.on.year == on.year]
    return tuple(
        IngredientUse(
            row.ingredient.common_name,
            _pounds(product, row),
            _pounds_before(this_year, strengths[row.ingredient_id]),
        )
        for row in use.label_version.product.ingredients.all()
    )


def _pounds(product: Amount | None, row: ProductIngredient) -> Decimal | None:
    if product is None:
        return None
    return active_ingredient_lb(
        product, lb_ai_per_gal=row.pounds_per_gallon, percent=row.percent_by_weight
    )


def _pounds_before(
    uses: Collection[PastUse], holding: Mapping[int, ProductIngredient]
) -> Decimal | None:
    total = Decimal(0)
    for one in uses:
        if one.product_id not in holding:
            continue
        pounds = _pounds(one.product, holding[one.product_id])
        if pounds is None or not one.record_mm2:
            return None
        total += pounds * one.zone_mm2 / one.record_mm2
    return total
