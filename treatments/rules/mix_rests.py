"""What is left to mix when a part is put out already."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from sites.rules.units import Amount
from treatments.rules.mixing import MixPlan

ALL = Decimal(1)
SIX_DECIMALS = Decimal("0.000001")


@dataclass(frozen=True)
class SoFar:
    """Product and finished spray that a visit put on zones before; None where not known."""

    product: Amount | None
    finished: Amount | None


def rest_share(whole: MixPlan, before: SoFar) -> Decimal:
    """Which share of a whole mix is left, by product or spray, whichever leaves less.

    Rounded down, so that both together never pass what is proposed for the whole; 1 where neither
    is known.
    """
    shares = [ALL]
    if before.product is not None and whole.product.value:
        put = before.product.to(whole.product.unit).value
        shares.append((whole.product.value - put) / whole.product.value)
    if before.finished is not None and whole.finished_gal:
        sprayed = before.finished.to("gal").value
        shares.append((whole.finished_gal - sprayed) / whole.finished_gal)
    return max(min(shares), Decimal(0)).quantize(SIX_DECIMALS, ROUND_DOWN)
