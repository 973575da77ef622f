"""The amounts, address and findings of a record in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from sites.rules.units import Amount, group, plain, unit_word
from treatments.models import ApplicationRecord
from treatments.rules.other_work import work_words
from treatments.rules.products import METHOD_WORDS, Method, Severity
from treatments.rules.rates import rate_number

WORST_FIRST = tuple(severity.value for severity in Severity)
RATE_STEP = Decimal("0.0001")
# by the units of a branch: what a treated area and length are shown in, and what a rate counts on
AREA_SHOWN: Mapping[str, tuple[str, int]] = {"us": ("ft2", 0), "metric": ("m2", 1)}
LENGTH_SHOWN: Mapping[str, str] = {"us": "ft", "metric": "m"}
COUNTED_ON: Mapping[str, tuple[tuple[str, int, str], tuple[str, int, str]]] = {
    "us": (("ft2", 1000, "1,000 sq ft"), ("ft", 10, "10 ft")),
    "metric": (("m2", 100, "100 m²"), ("m", 10, "10 m")),
}


def what_of(record: ApplicationRecord) -> str:
    """The product, else the kinds of work done without one."""
    return record.product_name or how_of(record)


def how_of(record: ApplicationRecord) -> str:
    """How it was put down, else the kinds of work done without a product."""
    return work_words(record.work_kinds) or METHOD_WORDS[Method(record.method)]


def as_entered(amount: str, unit: str) -> str:
    """1.6 fl oz, exactly the digits that were typed; empty when nothing was."""
    return f"{amount} {unit_word(unit)}" if amount else ""


def area_words(area_mm2: int, system: str = "us") -> str:
    """1,600 sq ft, or 148.6 m² in a metric branch; empty where the work is not counted by area."""
    if not area_mm2:
        return ""
    unit, decimals = AREA_SHOWN[system]
    return f"{group(Amount(Decimal(area_mm2), 'mm2').to(unit).value, decimals)} {unit_word(unit)}"


def length_words(length_mm: int, system: str = "us") -> str:
    """17.5 ft, or 5.33 m in a metric branch; empty where no length was treated."""
    if not length_mm:
        return ""
    unit = LENGTH_SHOWN[system]
    length = Amount(Decimal(length_mm), "mm").to(unit).value
    return f"{plain(round(length, 2))} {unit_word(unit)}"


def rate_words(record: ApplicationRecord) -> str:
    """Product on 1,000 sq ft, or on 10 ft where no area was treated; empty without an amount.

    In a metric branch on 100 m² or 10 m; the product stays in the unit it was read in.
    """
    if not record.product_amount or record.product_unit == "each":
        return ""
    amount = Amount(Decimal(record.product_amount), record.product_unit)
    return rate_on(amount, record.area_mm2, record.length_mm, record.branch.units)


def rate_on(product: Amount, area_mm2: int, length_mm: int, system: str = "us") -> str:
    """The rate of a product on an area, else on a length; empty on neither."""
    on_area, on_length = COUNTED_ON[system]
    for size, (unit, per, words) in (
        (Amount(Decimal(area_mm2), "mm2"), on_area),
        (Amount(Decimal(length_mm), "mm"), on_length),
    ):
        if size.value:
            rate = product.value * per / size.to(unit).value
            number = rate_number(rate.quantize(RATE_STEP))
            return f"{number} {unit_word(product.unit)} per {words}"
    return ""


def address_of(record: ApplicationRecord, street: str) -> str:
    """The service address as it was that day."""
    return f"{street}, {record.city}, {record.state} {record.zip_code}".removeprefix(", ")


def worst_of(record: ApplicationRecord) -> str:
    """The gravest severity of a record's judgements; empty when nothing was judged."""
    found = {judgement.severity for judgement in record.judgements.all()}
    return next((severity for severity in WORST_FIRST if severity in found), "")
