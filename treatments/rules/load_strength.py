"""How strong a mixed load may be: the label's rate, said of the spray in the tank."""

from __future__ import annotations

from dataclasses import dataclass

from accounts.refusals import Refused
from sites.rules.units import Amount
from treatments.rules.label_checks.amounts import applied, below
from treatments.rules.mixing import READING
from treatments.rules.products import RateBasis
from treatments.rules.rates import Rate


@dataclass(frozen=True)
class Strength:
    """The most and the least of one direction in the tank; `least` is None where it names none.

    Both are product per volume: of the finished spray, or of the water for a label that says
    "added to". `assumed` is the output they were worked out with, empty where the label says the
    spray itself.
    """

    most: Rate
    least: Rate | None
    clause: str
    assumed: str = ""


def refuse_strength(allowed: Strength, product: Amount, finished: Amount) -> None:
    """Refuse a tank that is stronger than the label's most, or weaker than its least.

    At the most there is no tolerance; a reading at most five percent under the least is the least,
    as on the mix (house rule, `READING`). A liquid added to water leaves so much less water.
    """
    held = _counted_on(allowed.most, product, finished)
    if allowed.most.compare(product, held) > 0:
        to_do = f"Put no more than {below(allowed.most.product_on(held))} in it, or more water."
        _refuse(allowed, "most", allowed.most, (product, held), to_do)
    if allowed.least is not None and _lowered(allowed.least).compare(product, held) < 0:
        to_do = f"Put at least {allowed.least.product_on(held)} in it, or less water."
        _refuse(allowed, "least", allowed.least, (product, held), to_do)


def _counted_on(rate: Rate, product: Amount, finished: Amount) -> Amount:
    """The volume that the rate counts on: the spray, or the water in it."""
    if rate.basis != RateBasis.DILUENT_VOLUME or product.kind != "volume":
        return finished
    return Amount(finished.value - product.to(finished.unit).value, finished.unit)


def _lowered(least: Rate) -> Rate:
    product = Amount(least.product.value * READING, least.product.unit)
    return Rate(least.basis, product, least.per)


def _refuse(
    allowed: Strength, word: str, bound: Rate, mixed: tuple[Amount, Amount], to_do: str
) -> None:
    sentence = (
        f"This load would hold {applied(bound, *mixed)}; the {word} is {bound.words}"
        f"{allowed.assumed}. {allowed.clause}. {to_do}"
    )
    raise Refused("strength", sentence, field="product_amount")
