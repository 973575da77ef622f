"""Checks of product, amounts and sizes of one entry: each gives a sentence, empty if it passes."""

from __future__ import annotations

from decimal import Decimal

from accounts.refusals import Refused
from treatments.rules.audit.facts import RecordFacts
from treatments.rules.products import RateBasis, RegistrationKind
from treatments.rules.registration_numbers import normalize

MOST_APART = Decimal("1.02")  # two percent, our own tolerance (regulations 7.7, A07)


def registration(facts: RecordFacts) -> str:
    """A05: the number is none, is a file symbol, or is not that of the product."""
    if not facts.number or facts.kind not in list(RegistrationKind):
        return ""
    if facts.product_number and facts.number != facts.product_number:
        return (
            f"The record says registration number {facts.number}, the product "
            f"{facts.product_number}. Compare both with the label."
        )
    try:
        number = normalize(facts.number, RegistrationKind(facts.kind))
    except Refused as refused:
        return refused.sentence
    return "" if number == facts.number else f"{facts.number} is written {number} on labels."


def amount(facts: RecordFacts) -> str:
    """A06: finished spray without the undiluted product in it."""
    if facts.has_amount or not facts.has_finished:
        return ""
    return "Finished spray is given and the undiluted product is missing. Fill it in."


def strength(facts: RecordFacts) -> str:
    """A07: more product than spray, or another strength than the load it came from, by over 2 %.

    Diluent is not typed: it is what the finished spray has beside the product.
    """
    finished, product = facts.finished_ul, facts.product_ul or facts.product_mg
    if not finished or not product:
        return ""
    if facts.product_ul is not None and facts.product_ul > finished * MOST_APART:
        return "There is more undiluted product than finished spray. Read both again."
    if facts.load is None or _are_close(
        product * facts.load.finished_ul, facts.load.product * finished
    ):
        return ""
    return "Product and finished spray differ by more than 2 % from the load they came from."


def _are_close(one: int, other: int) -> bool:
    return max(one, other) <= min(one, other) * MOST_APART


def size(facts: RecordFacts) -> str:
    """A09: the label's rate counts on an area or a length that the record does not have."""
    measured = {RateBasis.AREA: facts.area_mm2, RateBasis.LINEAR: facts.length_mm}
    if facts.basis in measured and not measured[RateBasis(facts.basis)]:
        word = "area" if facts.basis == RateBasis.AREA else "length"
        return f"The label's rate counts on {word}, and no {word} was measured. Correct the zones."
    return ""
