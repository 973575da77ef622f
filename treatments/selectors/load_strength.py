"""The strength that a direction allows a mixed load, with the output of its sprayer."""

from __future__ import annotations

from decimal import Decimal

from sites.rules.units import Amount, group
from treatments.models import LabelUse
from treatments.rules.load_strength import Strength
from treatments.rules.products import MixBasis, RateBasis
from treatments.rules.rates import IN_SPRAY, Rate
from treatments.selectors.label_facts import clause_of


def allowed_strength(use: LabelUse, gal_per_1000: Decimal | None) -> Strength | None:
    """What one direction allows in the tank; None where its label says nothing of the spray.

    `gal_per_1000` is the measured output of the sprayer; without one the label's gallons are
    assumed, as on the mix. A rate on the area is the same product in the gallons for 1,000 sq ft.
    """
    basis, clause = RateBasis(use.rate_basis), clause_of(use, use.page)
    if basis in IN_SPRAY:
        return Strength(Rate.of(basis, use.rate_max, use.rate_unit), clause)
    # the least gallons of a range make the strongest tank that its label allows
    gallons = gal_per_1000 or use.min_gallons_per_1000 or use.gallons_per_1000
    if basis == RateBasis.AREA and gallons:
        return _by_area(use, gallons, clause, is_measured=gal_per_1000 is not None)
    if not use.per_gallon:
        return None
    added = use.mix_basis == MixBasis.PER_DILUENT
    spray = RateBasis.DILUENT_VOLUME if added else RateBasis.FINISHED_VOLUME
    return Strength(Rate.of(spray, use.per_gallon, use.rate_unit), clause)


def _by_area(use: LabelUse, gallons: Decimal, clause: str, *, is_measured: bool) -> Strength:
    source = "as measured" if is_measured else "as the label gives"
    return Strength(
        _in_gallons(use.rate_max, use.rate_unit, gallons),
        clause,
        f" at {group(gallons, 2)} gal per 1,000 sq ft, {source}",
    )


def _in_gallons(product: Decimal, unit: str, gallons: Decimal) -> Rate:
    per = Amount(gallons, "gal")
    return Rate(RateBasis.FINISHED_VOLUME, Amount(product, unit), per)
