"""Strengths, active ingredient and rates over area.

Formulas: US Army subcourse MD0173 and Univ. of Missouri G7510 (read).
"""

from __future__ import annotations

from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.units import Amount

FL_OZ_PER_GAL = 128
SQ_FT_PER_ACRE = 43560
PER_ACRE = Decimal("43.56")  # from 1,000 sq ft to an acre
LB_WATER_PER_GAL = Decimal("8.34")  # US Army subcourse MD0173, p. 43 (read)


def percent_by_volume(total: Decimal, wanted: Decimal, concentrate: Decimal) -> Decimal:
    """Concentrate in the unit of `total`: C1 V1 = C2 V2, strengths in percent.

    Refused when the mix would be stronger than what it is made from.
    """
    if not 0 <= wanted <= concentrate or concentrate == 0:
        raise Refused("strength", "A mix is never stronger than its concentrate. Check both.")
    return total * wanted / concentrate


def percent_by_weight(finished_gal: Decimal, percent: Decimal, lb_ai_per_gal: Decimal) -> Decimal:
    """Gallons of concentrate for `percent` by weight in `finished_gal` of spray."""
    return finished_gal * LB_WATER_PER_GAL * percent / 100 / lb_ai_per_gal


def dry_concentrate(mix: Decimal, wanted: Decimal, concentrate: Decimal) -> Decimal:
    """Dry product in the unit of `mix`: mix × S / C."""
    return percent_by_volume(mix, wanted, concentrate)


def percent_in_finished(product: Amount, finished: Amount) -> Decimal:
    """Product in finished spray, percent by volume."""
    return product.exact * 100 / finished.exact


def active_ingredient_lb(
    product: Amount, *, lb_ai_per_gal: Decimal | None = None, percent: Decimal | None = None
) -> Decimal | None:
    """Pounds of active ingredient: of a liquid by lb per gal, of a dry product by percent.

    None when the label gives no strength that fits the kind of `product`.
    """
    if product.kind == "volume" and lb_ai_per_gal is not None:
        return product.to("gal").value * lb_ai_per_gal
    if product.kind == "mass" and percent is not None:
        return product.to("lb").value * percent / 100
    return None


def per_acre(per_1000_sq_ft: Decimal) -> Decimal:
    """× 43.56."""
    return per_1000_sq_ft * PER_ACRE


def per_1000_sq_ft(per_acre_rate: Decimal) -> Decimal:
    """/ 43.56."""
    return per_acre_rate / PER_ACRE


def allowed_on(area_sq_ft: Decimal, per_acre_rate: Decimal) -> Decimal:
    """An acre rate on a small job, in the rate's unit."""
    return per_acre_rate * area_sq_ft / SQ_FT_PER_ACRE


def placed(count: int, net_each: Amount) -> Amount:
    """Bait or stations: count × net weight or volume each, never a percent.

    Source: Cornell pesticide sales and use reporting, unit page (read).
    """
    if count < 0:
        raise Refused("amount", "A count is never below zero. Count the placements again.")
    return Amount(net_each.value * count, net_each.unit)
