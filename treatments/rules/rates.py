"""A label's rate: so much product on so much of something, compared without dividing."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext

from accounts.refusals import Refused
from sites.rules.units import EXACT, Amount, group, unit_word
from treatments.rules.products import RateBasis

# per which kind of amount each basis counts
BASIS_KINDS = {
    RateBasis.AREA: "area",
    RateBasis.FINISHED_VOLUME: "volume",
    RateBasis.DILUENT_VOLUME: "volume",
    RateBasis.LINEAR: "length",
    RateBasis.COUNT: "count",
    RateBasis.SPACE_VOLUME: "space",
    RateBasis.PERCENT: "volume",
}
DEFAULT_PER = {
    RateBasis.AREA: Amount(Decimal(1000), "ft2"),
    RateBasis.FINISHED_VOLUME: Amount(Decimal(1), "gal"),
    RateBasis.DILUENT_VOLUME: Amount(Decimal(1), "gal"),
    RateBasis.LINEAR: Amount(Decimal(10), "lf"),
    RateBasis.COUNT: Amount(Decimal(1), "each"),
    RateBasis.SPACE_VOLUME: Amount(Decimal(1000), "ft3"),
    RateBasis.PERCENT: Amount(Decimal(100), "gal"),
}
# rates said as product in the spray; the area follows from the gallons put on it
IN_SPRAY = (RateBasis.FINISHED_VOLUME, RateBasis.DILUENT_VOLUME, RateBasis.PERCENT)


@dataclass(frozen=True)
class Rate:
    """`product` per `per`; the kind of `per` follows from `basis`, else refused.

    A percent rate is gallons of product in 100 gallons of finished spray.
    """

    basis: RateBasis
    product: Amount
    per: Amount

    def __post_init__(self) -> None:
        if self.per.kind != BASIS_KINDS[self.basis] or self.per.value <= 0:
            raise Refused("rate", f"A rate is not counted per {self.per}. Read the label again.")
        if self.product.value < 0:
            raise Refused("rate", "A rate is never below zero. Read the label again.")

    @classmethod
    def of(cls, basis: RateBasis, value: Decimal, unit: str, per: Amount | None = None) -> Rate:
        """A rate on the usual quantity of its basis (1,000 sq ft, 1 gal, 10 linear ft)."""
        if basis == RateBasis.PERCENT:
            unit = "gal"
        return cls(basis, Amount(value, unit), per or DEFAULT_PER[basis])

    def product_on(self, measured: Amount) -> Amount:
        """Product for a measured area, volume, length, count or space, in the rate's unit."""
        share = measured.to(self.per.unit).value / self.per.value
        return Amount(self.product.value * share, self.product.unit)

    def compare(self, product: Amount, measured: Amount) -> int:
        """-1 under, 0 at, 1 over this rate; exact, by cross-multiplication.

        Refused when product or measure is of another kind than the label's.
        """
        _same_kind(product, self.product)
        _same_kind(measured, self.per)
        with localcontext(EXACT):
            used = product.exact * self.per.exact
            limit = self.product.exact * measured.exact
            return (used > limit) - (used < limit)

    @property
    def words(self) -> str:
        """1.00 fl oz per 1,000 sq ft; a percent as 0.5 %."""
        if self.basis == RateBasis.PERCENT:
            return f"{group(self.product.value)} %"
        return f"{rate_number(self.product.value)} {self.per_words}"

    @property
    def per_words(self) -> str:
        """fl oz per 1,000 sq ft; fl oz per gal."""
        per = unit_word(self.per.unit)
        if self.per.value != 1:
            per = f"{group(self.per.value)} {per}"
        return f"{unit_word(self.product.unit)} per {per}"

    def applied(self, product: Amount, measured: Amount) -> Decimal:
        """The rate put out, in this rate's own units; for display, never for comparing."""
        amount = product.to(self.product.unit).value
        return amount * self.per.value / measured.to(self.per.unit).value


def rate_number(value: Decimal) -> str:
    """Two decimals, more only where the label has them: 1.00, 0.33, 0.125."""
    written = group(value)
    decimals = len(written.partition(".")[2])
    return written if decimals > 2 else group(value, 2)


def _same_kind(one: Amount, other: Amount) -> None:
    if one.kind != other.kind:
        raise Refused(
            "rate_unit",
            f"{unit_word(one.unit)} is {one.kind}; the label counts {unit_word(other.unit)}, "
            f"{other.kind}. Enter it in the label's unit.",
        )
