"""What was put out before at the same visit: one application made from several loads.

Product is taken to be spread evenly over the zones of its record, as in the amounts of a year.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal, localcontext
from fractions import Fraction

from sites.rules.units import CANONICAL, EXACT, Amount
from treatments.rules.label_checks.facts import ProposedUse, VisitUse
from treatments.rules.products import Severity
from treatments.rules.rates import Rate


def beside(use: ProposedUse) -> tuple[VisitUse, ...]:
    """The records of this product at this visit that share a zone with the use."""
    return tuple(one for one in use.this_visit if one.sizes.keys() & use.sizes.keys())


def is_one_application(use: ProposedUse, others: Collection[VisitUse]) -> bool:
    """Whether each record was of the same direction on the same whole zones: amounts add up.

    Parts of a zone may lie beside each other or one on the other, which nobody wrote down.
    """
    is_whole = all(use.sizes[zone] >= whole for zone, whole in use.wholes.items())
    return is_whole and all(
        _is_known(one, use.product) and one.is_same_direction and one.sizes == use.sizes
        for one in others
    )


def put_here(use: ProposedUse, others: Collection[VisitUse]) -> Amount | None:
    """Product put before on the zones of the use, in its unit; None where one is not known."""
    if not all(_is_known(one, use.product) for one in others):
        return None
    return _together([(one.product, _share(use, one)) for one in others], use.product.unit)


def sprayed_here(use: ProposedUse, others: Collection[VisitUse]) -> Amount | None:
    """Finished spray put before on the zones of the use, in gal; None where one is not known."""
    if any(one.finished is None or not _whole(one) for one in others):
        return None
    return _together([(one.finished, _share(use, one)) for one in others], "gal")


def severity_over(most: Rate, use: ProposedUse, others: Sequence[VisitUse]) -> Severity:
    """Where zones or directions differ: does a zone get more than `most` of all the records?

    A note when no zone does, spread evenly; refused when the amounts are too much for their zones
    however they were spread; a warning when it depends on what nobody wrote down: where in its
    zones a load went, whether two parts of a zone are the same part, an amount, another direction.
    """
    if _cannot_be_within(most, use):
        return Severity.REFUSE
    if not all(_is_known(one, use.product) and _whole(one) for one in others):
        return Severity.WARN
    return (
        Severity.WARN
        if _densest(use, others) > _density(most.product, most.per.exact)
        else Severity.NOTE
    )


def _is_known(one: VisitUse, product: Amount) -> bool:
    return one.product is not None and one.product.kind == product.kind


def _whole(one: VisitUse) -> int:
    return sum(one.sizes.values())


def _share(use: ProposedUse, one: VisitUse) -> Fraction:
    here = sum(size for zone, size in one.sizes.items() if zone in use.sizes)
    return Fraction(here, _whole(one)) if _whole(one) else Fraction(1)


def _together(parts: Sequence[tuple[Amount | None, Fraction]], unit: str) -> Amount:
    with localcontext(EXACT):
        values = (
            one.to(unit).value * share.numerator / share.denominator for one, share in parts if one
        )
        return Amount(sum(values, Decimal(0)), unit)


def _density(product: Amount, size: Decimal | int) -> Fraction:
    return Fraction(product.exact) / Fraction(size)


def _densest(use: ProposedUse, others: Sequence[VisitUse]) -> Fraction:
    """The most product on a zone of the use, as if its parts lay one on the other."""
    own = _density(use.product, sum(use.sizes.values()))
    each = [(one, _density(one.product, _whole(one))) for one in others if one.product]
    return max(
        own + sum(density for one, density in each if zone in one.sizes) for zone in use.sizes
    )


def _cannot_be_within(most: Rate, use: ProposedUse) -> bool:
    """Whether records of this direction hold more than all their zones together may get."""
    this = VisitUse(use.product, use.finished, use.sizes)
    alike = [one for one in use.this_visit if one.is_same_direction]
    records = [this, *(one for one in alike if _is_known(one, use.product))]
    reaches = [use.sizes.keys() | one.sizes.keys() for one in records]
    return any(
        _is_too_much(most, records, zones, use) for zones in (*reaches, set().union(*reaches))
    )


def _is_too_much(
    most: Rate, records: Sequence[VisitUse], zones: Collection[int], use: ProposedUse
) -> bool:
    """Whether the records that went to these zones only are above the rate on all of them."""
    inside = [one for one in records if one.sizes.keys() <= set(zones)]
    room = Decimal(sum(_room(inside, zone, use) for zone in zones))
    measured = Amount(room, CANONICAL[most.per.kind]).to(most.per.unit)
    total = _together([(one.product, Fraction(1)) for one in inside], use.product.unit)
    return most.compare(total, measured) > 0


def _room(records: Sequence[VisitUse], zone: int, use: ProposedUse) -> int:
    """The most of a zone that the records can have treated; one unit more for its rounding."""
    sizes = [one.sizes[zone] for one in records if zone in one.sizes]
    most = max(sum(sizes), max(sizes, default=0))
    if zone in use.wholes:
        most = max(min(most, use.wholes[zone]), max(sizes, default=0))
    return most + 1
