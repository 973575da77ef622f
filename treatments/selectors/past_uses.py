"""What was put down before in the same zones: for intervals, uses and amounts a year."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import lru_cache

from sites.rules.units import Amount, canonical, kind_of
from treatments.models import LabelUse, ProductIngredient
from treatments.rules.applications import Entered
from treatments.rules.dilutions import active_ingredient_lb
from treatments.rules.label_checks import EarlierUse, IngredientUse
from treatments.rules.label_checks.resistance import BAIT_DAYS, BAITS
from treatments.rules.products import LimitFact, Method
from treatments.selectors.every_record import uses_put_down


@dataclass(frozen=True)
class PastUse:
    """One earlier use of a product in one zone."""

    zone_id: int
    product_id: int
    on: date
    zone_mm2: int
    record_mm2: int
    product: Amount | None
    pests: frozenset[str]
    is_bait: bool
    record_id: int = 0
    visit_ref: str = ""
    label_use_id: int | None = None
    size: Entered | None = None
    finished: Amount | None = None

    @property
    def occasion(self) -> tuple[str, date] | int:
        """Records of one visit on one day are one use, made from several loads."""
        return (self.visit_ref, self.on) if self.visit_ref else self.record_id


LONGEST_DAYS = 36_500


def past_uses(directions: Collection[LabelUse], property_id: int, on: date) -> list[PastUse]:
    """Uses of any product at the property since January 1, or in the days the labels look back.

    Only effective records; the last use of each zone is among them whenever it matters.
    """
    rows = uses_put_down(property_id, first_day(directions, on), date(on.year, 12, 31))
    return [_past_use(*row) for row in rows]


def first_day(directions: Iterable[LabelUse], on: date) -> date:
    """The first day that one of these directions looks back to."""
    return min((_first_day(use, on) for use in directions), default=on)


def looked_back(use: LabelUse, uses: Iterable[PastUse], on: date) -> list[PastUse]:
    """Of the uses read for several directions those that one direction looks back to."""
    first = _first_day(use, on)
    return [one for one in uses if one.on >= first]


def _past_use(
    zone_id: int,
    product_id: int,
    day: date,
    part: int,
    whole: int,
    volume: int | None,
    mass: int | None,
    pests: list[str],
    method: str,
    formulation: str,
    record_id: int,
    visit_ref: str,
    use_id: int | None,
    size: str,
    size_unit: str,
    typed: str,
    typed_unit: str,
    finished: int | None,
    sprayed: str,
    spray_unit: str,
) -> PastUse:
    return PastUse(
        zone_id=zone_id,
        product_id=product_id,
        on=day,
        zone_mm2=part,
        record_mm2=whole,
        product=_put_down(typed, typed_unit, volume, mass),
        pests=frozenset(pests),
        is_bait=method == Method.BAIT or formulation in BAITS,
        record_id=record_id,
        visit_ref=visit_ref,
        label_use_id=use_id,
        size=Entered(size, size_unit),
        finished=_put_down(sprayed, spray_unit, finished, None),
    )


@lru_cache(maxsize=4096)  # the same amounts come back with every record of a property
def _put_down(typed: str, unit: str, volume: int | None, mass: int | None) -> Amount | None:
    """The amount as typed, where that is the amount: a whole uL more must pass no maximum twice."""
    amount = _amount(volume, mass)
    if amount is None or not typed:
        return amount
    whole = canonical(Decimal(typed), unit)
    return Amount(Decimal(typed), unit) if whole == amount.value else amount


def of_product(use: LabelUse, uses: Collection[PastUse]) -> list[PastUse]:
    """The uses of the direction's own product: what its interval and its uses a year count."""
    return [one for one in uses if one.product_id == use.label_version.product_id]


def _first_day(use: LabelUse, on: date) -> date:
    rows = use.label_version.limits.all()
    bait = [min(int(row.limit), LONGEST_DAYS) for row in rows if row.fact == LimitFact.BAIT_DAYS]
    back = on.toordinal() - max(use.min_interval_days, BAIT_DAYS, *bait)
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
    here = [one for one in uses if one.zone_id == zone_id and one.on.year == on.year]
    return len({one.occasion for one in here})


def product_this_year(uses: Collection[PastUse], on: date, unit: str) -> Amount | None:
    """Product put on these zones this year, by each record's share of area; None if not known."""
    total = Decimal(0)
    for one in whole_records(one for one in uses if one.on.year == on.year):
        if one.product is None or not one.record_mm2 or one.product.kind != kind_of(unit):
            return None
        total += one.product.to(unit).value * one.zone_mm2 / one.record_mm2
    return Amount(total, unit)


def whole_records(uses: Iterable[PastUse]) -> list[PastUse]:
    """Each record once with its zones together: a share of all of it is exactly all of it."""
    last: dict[int, PastUse] = {}
    mm2: dict[int, int] = defaultdict(int)
    for one in uses:
        last[one.record_id] = one
        mm2[one.record_id] += one.zone_mm2
    return [replace(one, zone_mm2=mm2[key]) for key, one in last.items()]


Holding = dict[int, list[ProductIngredient]]


def holding_of(directions: Collection[LabelUse], uses: Collection[PastUse]) -> Holding:
    """The active ingredients of the directions' products and of every product used, by product.

    One query when other products were used here, else none.
    """
    products = (use.label_version.product for use in directions)
    found: Holding = {product.pk: list(product.ingredients.all()) for product in products}
    others = {one.product_id for one in uses} - set(found)
    if others:
        rows = ProductIngredient.objects.filter(product_id__in=others)
        for row in rows.select_related("ingredient").order_by("pk"):
            found.setdefault(row.product_id, []).append(row)
    return found


def irac_schemes(product_id: int, holding: Holding) -> dict[str, str]:
    """The version of the scheme each group of a product was read in, where it is entered."""
    rows = holding.get(product_id, ())
    return {
        row.ingredient.irac_group: row.ingredient.irac_scheme
        for row in rows
        if row.ingredient.irac_group and row.ingredient.irac_scheme
    }


def irac_groups(product_id: int, holding: Holding) -> frozenset[str]:
    """The resistance groups of a product that are known."""
    rows = holding.get(product_id, [])
    return frozenset(row.ingredient.irac_group for row in rows if row.ingredient.irac_group)


def earlier_uses(
    uses: Collection[PastUse], holding: Holding, zone_ids: Collection[int], on: date
) -> tuple[EarlierUse, ...]:
    """What was used before or on the day, as resistance and bait are judged by it."""
    return tuple(
        EarlierUse(
            one.on,
            one.pests,
            irac_groups(one.product_id, holding),
            one.is_bait,
            one.zone_id in zone_ids,
        )
        for one in uses
        if one.on <= on
    )


def ingredient_used_on(
    use: LabelUse, uses: Collection[PastUse], holding: Holding, zone_id: int, on: date
) -> date | None:
    """The last day up to `on` another product with one of the ingredients was used in the zone."""
    own_id = use.label_version.product_id
    own = {row.ingredient_id for row in holding[own_id]}
    alike = {
        product_id
        for product_id, rows in holding.items()
        if product_id != own_id and own & {row.ingredient_id for row in rows}
    }
    return last_used_on([one for one in uses if one.product_id in alike], zone_id, on)


def ingredients_of(
    use: LabelUse,
    product: Amount | None,
    uses: Collection[PastUse],
    holding: Holding,
    on: date,
) -> tuple[IngredientUse, ...]:
    """Each active ingredient of the direction's product, with what every product put of it here.

    Pounds are by each record's share of area; None where an amount or a strength is not known.
    """
    this_year = whole_records(one for one in uses if one.on.year == on.year)
    return tuple(
        IngredientUse(
            row.ingredient.common_name,
            _pounds(product, row),
            _pounds_before(this_year, _rows_of(row.ingredient_id, holding)),
        )
        for row in use.label_version.product.ingredients.all()
    )


def _rows_of(ingredient_id: int, holding: Holding) -> dict[int, ProductIngredient]:
    return {
        product_id: row
        for product_id, rows in holding.items()
        for row in rows
        if row.ingredient_id == ingredient_id
    }


def _pounds(product: Amount | None, row: ProductIngredient) -> Decimal | None:
    if product is None:
        return None
    return active_ingredient_lb(
        product, lb_ai_per_gal=row.pounds_per_gallon, percent=row.percent_by_weight
    )


def _pounds_before(
    uses: Collection[PastUse], rows: Mapping[int, ProductIngredient]
) -> Decimal | None:
    total = Decimal(0)
    for one in uses:
        if one.product_id not in rows:
            continue
        pounds = _pounds(one.product, rows[one.product_id])
        if pounds is None or not one.record_mm2:
            return None
        total += pounds * one.zone_mm2 / one.record_mm2
    return total
