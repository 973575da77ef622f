"""Toxicity category and signal word of a label (40 CFR 156.62 and 156.64)."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum

from accounts.refusals import Refused
from treatments.rules.products import SignalWord


class Category(IntEnum):
    """Category I is the most toxic."""

    I = 1  # noqa: E741  (the rule's own name)
    II = 2
    III = 3
    IV = 4


# upper bounds of I, II and III, inclusive ("up to and including")
ORAL = (Decimal(50), Decimal(500), Decimal(5000))  # LD50 mg/kg
DERMAL = (Decimal(200), Decimal(2000), Decimal(20000))  # LD50 mg/kg
INHALATION = (Decimal("0.2"), Decimal(2), Decimal(20))  # LC50 mg/L
WORDS = {
    Category.I: SignalWord.DANGER,
    Category.II: SignalWord.WARNING,
    Category.III: SignalWord.CAUTION,
    Category.IV: SignalWord.NONE,
}


@dataclass(frozen=True)
class AcuteStudies:
    """Results by route; a study that was not made is None.

    `oral`, `dermal` in mg/kg, `inhalation` in mg/L, `eye` and `skin` as category.
    """

    oral: Decimal | None = None
    dermal: Decimal | None = None
    inhalation: Decimal | None = None
    eye: Category | None = None
    skin: Category | None = None


def category(value: Decimal, bounds: tuple[Decimal, Decimal, Decimal]) -> Category:
    """Category of one route by its upper bounds; refused below zero."""
    if value < 0:
        raise Refused("toxicity", "A dose is never below zero. Copy it from the data sheet.")
    above = sum(1 for bound in bounds if value > bound)
    return Category(above + 1)


def systemic_category(studies: AcuteStudies) -> Category:
    """The most toxic of mouth, skin and breath; IV when none was studied."""
    routes = (
        (studies.oral, ORAL),
        (studies.dermal, DERMAL),
        (studies.inhalation, INHALATION),
    )
    found = [category(value, bounds) for value, bounds in routes if value is not None]
    return min(found, default=Category.IV)


def overall_category(studies: AcuteStudies) -> Category:
    """The most toxic route decides (156.64)."""
    local = [one for one in (studies.eye, studies.skin) if one is not None]
    return min([systemic_category(studies), *local])


def signal_word(studies: AcuteStudies) -> SignalWord:
    """The word the label must carry; Poison is added when I comes from mouth, skin or breath."""
    if systemic_category(studies) == Category.I:
        return SignalWord.DANGER_POISON
    return WORDS[overall_category(studies)]


def allowed_words(studies: AcuteStudies) -> frozenset[SignalWord]:
    """Words a label may carry: exactly one, and category IV may add Caution."""
    word = signal_word(studies)
    if word == SignalWord.NONE:
        return frozenset({SignalWord.NONE, SignalWord.CAUTION})
    return frozenset({word})
