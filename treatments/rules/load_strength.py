"""How strong a mixed load may be: the label's rate, said of the spray in the tank."""

from __future__ import annotations

from collections.abc import Iterable
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


def refuse_strength(
    allowed: Strength,
    product: Amount,
    finished: Amount,
    *,
    beside: Iterable[Amount] = (),
    field: str = "product_amount",
) -> None:
    """Refuse a tank that is stronger than the label's most; there is no tolerance.

    A liquid added to water leaves so much less water, and so does one `beside` it in the tank. A
    weaker tank is not refused: less than the label's least only warns, on the mix and on the
    record (FIFRA 2(ee)).
    """
    held = _counted_on(allowed.most, (product, *beside), finished)
    most = allowed.most
    if most.compare(product, held) > 0:
        sentence = (
            f"This load would hold {applied(most, product, held)}; the most is {most.words}"
            f"{allowed.assumed}. {allowed.clause}. "
            f"Put no more than {below(most.product_on(held))} in it, or more water."
        )
        raise Refused("strength", sentence, field=field)


def _counted_on(rate: Rate, products: Iterable[Amount], finished: Amount) -> Amount:
    """The volume that the rate counts on: the spray, or the water in it."""
    if rate.basis != RateBasis.DILUENT_VOLUME:
        return finished
    liquids = [one.to(finished.unit).value for one in products if one.kind == "volume"]
    return Amount(finished.value - sum(liquids), finished.unit)
