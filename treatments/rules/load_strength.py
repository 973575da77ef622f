"""How strong a mixed load may be: the label's rate, said of the spray in the tank."""

from __future__ import annotations

from dataclasses import dataclass

from accounts.refusals import Refused
from sites.rules.units import Amount
from treatments.rules.label_checks.amounts import applied, below
from treatments.rules.products import RateBasis
from treatments.rules.rates import Rate


@dataclass(frozen=True)
class Strength:
    """The most of one direction in the tank.

    It is product per volume: of the finished spray, or of the water for a label that says
    "added to". `assumed` is the output it was worked out with, empty where the label says the
    spray itself.
    """

    most: Rate
    clause: str
    assumed: str = ""


def refuse_strength(allowed: Strength, product: Amount, finished: Amount) -> None:
    """Refuse a tank that is stronger than the label's most; there is no tolerance.

    A liquid added to water leaves so much less water. A weaker tank is not refused: less than the
    label's least only warns, on the mix and on the record (FIFRA 2(ee)).
    """
    held = _counted_on(allowed.most, product, finished)
    most = allowed.most
    if most.compare(product, held) > 0:
        sentence = (
            f"This load would hold {applied(most, product, held)}; the most is {most.words}"
            f"{allowed.assumed}. {allowed.clause}. "
            f"Put no more than {below(most.product_on(held))} in it, or more water."
        )
        raise Refused("strength", sentence, field="product_amount")


def _counted_on(rate: Rate, product: Amount, finished: Amount) -> Amount:
    """The volume that the rate counts on: the spray, or the water in it."""
    if rate.basis != RateBasis.DILUENT_VOLUME or product.kind != "volume":
        return finished
    return Amount(finished.value - product.to(finished.unit).value, finished.unit)
