"""Two products or more in one tank: may they, in what order, and what they put down together.

Order of filling: the label's own, else by formulation (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import IntEnum

from sites.rules.branch_units import US, spray
from sites.rules.units import plain
from treatments.rules.dilutions import SQ_FT_PER_ACRE
from treatments.rules.label_checks.facts import Judgement
from treatments.rules.products import FORMULATION_WORDS, Formulation, Severity

APART = "Mix each by itself, and put one out after the other where both labels allow it."
FOUR_DECIMALS = Decimal("0.0001")


class FillGroup(IntEnum):
    """What goes into the tank before what."""

    BAGS = 1
    DRY = 2
    SUSPENSIONS = 3
    EMULSIONS = 4
    SOLUTIONS = 5
    ADJUVANTS = 6


TURN_WORDS: Mapping[int, str] = {
    FillGroup.BAGS: "1, with water-soluble bags",
    FillGroup.DRY: "2, with dry products as a slurry",
    FillGroup.SUSPENSIONS: "3, with suspensions",
    FillGroup.EMULSIONS: "4, with emulsions",
    FillGroup.SOLUTIONS: "5, with solutions",
    FillGroup.ADJUVANTS: "6, with adjuvants, last",
}
GROUPS: Mapping[Formulation, FillGroup] = {
    Formulation.WSB: FillGroup.BAGS,
    Formulation.WP: FillGroup.DRY,
    Formulation.WG: FillGroup.DRY,
    Formulation.SC: FillGroup.SUSPENSIONS,
    Formulation.CS: FillGroup.SUSPENSIONS,
    Formulation.EC: FillGroup.EMULSIONS,
    Formulation.ME: FillGroup.EMULSIONS,
    Formulation.SL: FillGroup.SOLUTIONS,
}
HOW: Mapping[FillGroup, str] = {
    FillGroup.BAGS: "Drop in the bags unopened: {}. Wait until they are dissolved, then shake.",
    FillGroup.DRY: "Stir {} with a little water to a slurry, pour it in, then shake.",
    FillGroup.SUSPENSIONS: "Shake the container, measure {} below eye level, pour it in, shake.",
    FillGroup.EMULSIONS: "Measure {} below eye level, pour it in, then shake.",
    FillGroup.SOLUTIONS: "Measure {} below eye level, pour it in, then shake.",
    FillGroup.ADJUVANTS: "Last, add {} and shake.",
}


@dataclass(frozen=True)
class YearlyLimit:
    """A label's most of an ingredient in a year: pounds per acre, what follows, on which page."""

    lb_per_acre: Decimal
    severity: Severity = Severity.REFUSE
    clause: str = ""


@dataclass(frozen=True)
class NotWith:
    """A row of a label that forbids one named product or ingredient in its tank."""

    named: str
    sentence: str
    severity: Severity
    clause: str


@dataclass(frozen=True)
class InTank:
    """One product of a tank mix on one area.

    `ingredients_lb` pounds of each active ingredient put down and `before_lb` what any product
    put down of each before this year, None when not known; `yearly` the label's
    limits of them; `forbids_mixing` the label's sentence where it says so, `not_with` what its
    label keeps out of its tank; `contains` its active ingredients by name; `label_group` where its
    label puts it in the order of filling, None when the label is silent; `agitation` the label's
    words on it.
    """

    name: str
    clause: str
    formulation: Formulation
    ingredients_lb: Mapping[str, Decimal | None] = field(default_factory=dict)
    before_lb: Mapping[str, Decimal | None] = field(default_factory=dict)
    yearly: tuple[YearlyLimit, ...] = ()
    forbids_mixing: str = ""
    forbids_severity: Severity = Severity.REFUSE
    label_group: FillGroup | None = None
    is_adjuvant: bool = False
    contains: frozenset[str] = frozenset()
    not_with: tuple[NotWith, ...] = ()
    agitation: tuple[str, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """The product and what it contains, as a label may name it."""
        return frozenset(name.casefold() for name in (self.name, *self.contains))

    @property
    def group(self) -> FillGroup | None:
        """Its turn; None for what does not go into a tank."""
        if self.label_group is not None:
            return self.label_group
        return FillGroup.ADJUVANTS if self.is_adjuvant else GROUPS.get(self.formulation)


def filling_order(products: tuple[InTank, ...]) -> tuple[InTank, ...]:
    """The products in their order of filling; alike ones as they were named."""
    return tuple(sorted(products, key=lambda one: one.group or max(FillGroup)))


def tank_mix_checks(products: tuple[InTank, ...], area_sq_ft: Decimal) -> tuple[Judgement, ...]:
    """Whether these may be mixed, and their common ingredients against each label's year.

    Refused: a label that says so of all or of a named product or ingredient, a product that does
    not go into water, the same product twice, an ingredient of two products above a yearly limit.
    A single product says nothing.
    """
    if len(products) < len(("one", "another")):
        return ()
    found = [*_twice(products)]
    for one in products:
        found += [*_forbidden(one), *_kept_apart(one, products)]
        found += [*_no_water(one), *_together(one, products, area_sq_ft)]
    return tuple(found)


def _twice(products: tuple[InTank, ...]) -> list[Judgement]:
    names = [one.name for one in products]
    return [
        _refused(one, f"{one.name} is in this tank twice.", "Choose it once, at one rate.")
        for number, one in enumerate(products)
        if one.name in names[:number]
    ]


def _forbidden(one: InTank) -> list[Judgement]:
    if not one.forbids_mixing:
        return []
    said = Judgement("tank_mix", one.forbids_severity, one.forbids_mixing, one.clause, APART)
    return [said]


def _kept_apart(one: InTank, products: tuple[InTank, ...]) -> list[Judgement]:
    others = [other for other in products if other is not one]
    return [
        Judgement(
            "tank_mix",
            row.severity,
            f"{row.sentence} {other.name} {_is_that(row, other)}.",
            row.clause,
            APART,
        )
        for row in one.not_with
        for other in others
        if row.named.strip().casefold() in other.names
    ]


def _is_that(row: NotWith, other: InTank) -> str:
    is_product = row.named.strip().casefold() == other.name.casefold()
    return "is that product" if is_product else f"contains {row.named.strip()}"


def _no_water(one: InTank) -> list[Judgement]:
    if one.group is not None:
        return []
    word = FORMULATION_WORDS[one.formulation].lower()
    return [_refused(one, f"{one.name} is sold as {word}: it does not go into a tank.", APART)]


def _together(one: InTank, products: tuple[InTank, ...], area_sq_ft: Decimal) -> list[Judgement]:
    """A common ingredient is put down by both: each label's year counts all of it."""
    found = []
    for name in sorted(one.ingredients_lb):
        put = [other.ingredients_lb[name] for other in products if name in other.ingredients_lb]
        limits = one.yearly if len(put) > 1 else ()
        amounts = (*put, one.before_lb.get(name, Decimal(0)))
        found += [_judged(one, name, amounts, limit, area_sq_ft) for limit in limits]
    return found


def _judged(
    one: InTank,
    name: str,
    amounts: tuple[Decimal | None, ...],
    row: YearlyLimit,
    area_sq_ft: Decimal,
) -> Judgement:
    code, clause = "ingredient_together", row.clause or one.clause
    known = [amount for amount in amounts if amount is not None]
    if len(known) < len(amounts):
        sentence = f"{name} is in two products, and how much of it is put down is not known."
        return Judgement(code, Severity.WARN, sentence, clause, "Add it up by hand.")
    total = sum(known, Decimal(0)) * SQ_FT_PER_ACRE
    per_acre = plain((total / area_sq_ft).quantize(FOUR_DECIMALS))
    most = plain(row.lb_per_acre)
    numbers = f"{name} of two products: {per_acre} lb per acre this year, most {most}"
    if total <= row.lb_per_acre * area_sq_ft:
        return Judgement(code, Severity.NOTE, numbers, clause)
    to_do = "Leave one product out, or choose another ingredient."
    return Judgement(code, row.severity, f"{numbers}.", clause, to_do)


def _refused(one: InTank, sentence: str, to_do: str) -> Judgement:
    return Judgement("tank_mix", Severity.REFUSE, sentence, one.clause, to_do)


def tank_mix_steps(
    finished_gal: Decimal,
    products: tuple[InTank, ...],
    readings: Mapping[str, str],
    system: str = US,
) -> tuple[str, ...]:
    """Order of filling one load; `readings` by product name, as read on the measure."""
    half, whole = spray(finished_gal / 2, system), spray(finished_gal, system)
    return (
        "Put on what both labels ask for before you open the products.",
        "Try the mix in a jar first: clots, heat or layers mean that it must not be mixed.",
        f"Fill half the water, {half}. Keep the hose above the water line.",
        *(
            HOW[one.group].format(f"{readings[one.name]} of {one.name}")
            for one in filling_order(products)
            if one.group is not None
        ),
        "Rinse each measure into the tank. Close the tank, shake it, let the pressure out.",
        f"Fill with water to the {whole} line and shake again.",
        *dict.fromkeys(step for one in products for step in one.agitation),
        "Use it within the time both labels give.",
    )
