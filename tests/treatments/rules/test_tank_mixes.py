"""Tank mixes: order of filling, what may not be mixed, one ingredient in two products.

Order of filling and jar test: common practice, no source; the label's own order governs.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.products import Formulation, Severity
from treatments.rules.tank_mixes import (
    FillGroup,
    InTank,
    NotWith,
    YearlyLimit,
    filling_order,
    tank_mix_checks,
    tank_mix_steps,
)

d = Decimal
AREA = d(1600)
BAG = InTank("Bag", "bag label, p. 2", Formulation.WSB)
POWDER = InTank("Powder", "powder label, p. 2", Formulation.WP)
FLOWABLE = InTank("Flowable", "flowable label, p. 2", Formulation.SC)
EMULSION = InTank("Emulsion", "emulsion label, p. 2", Formulation.EC)
SPREADER = InTank("Sticker", "sticker label, p. 1", Formulation.SL, is_adjuvant=True)
IN_ORDER = (BAG, POWDER, FLOWABLE, EMULSION, SPREADER)


@pytest.mark.parametrize("products", list(permutations(IN_ORDER))[::7])
def test_bags_slurry_suspensions_emulsions_adjuvants(products: tuple[InTank, ...]) -> None:
    """Common practice, no source."""
    assert filling_order(products) == IN_ORDER


def test_the_label_order_goes_first() -> None:
    first = replace(EMULSION, label_group=FillGroup.BAGS)
    assert filling_order((POWDER, first)) == (first, POWDER)


def test_alike_products_stay_as_they_were_named() -> None:
    other = replace(FLOWABLE, name="Another", formulation=Formulation.CS)
    assert filling_order((other, FLOWABLE)) == (other, FLOWABLE)
    assert filling_order((FLOWABLE, other)) == (FLOWABLE, other)


def test_one_product_is_no_tank_mix() -> None:
    alone = replace(FLOWABLE, forbids_mixing="Do not mix.", ingredients_lb={"demothrin": d(9)})
    assert tank_mix_checks((alone,), AREA) == ()


def test_nothing_to_say_of_two_that_go_together() -> None:
    assert tank_mix_checks((FLOWABLE, EMULSION), AREA) == ()


@pytest.mark.parametrize("turned", [False, True])
def test_a_label_that_forbids_it_refuses(turned: bool) -> None:
    strict = replace(POWDER, forbids_mixing="Do not mix with other products.")
    both = (strict, FLOWABLE)
    (one,) = tank_mix_checks(both[::-1] if turned else both, AREA)
    assert (one.severity, one.code) == (Severity.REFUSE, "tank_mix")
    assert (one.sentence, one.clause) == ("Do not mix with other products.", POWDER.clause)
    assert "by itself" in one.to_do


@pytest.mark.parametrize(
    ("named", "says"),
    [
        ("Demothrin", "contains Demothrin"),  # an ingredient, however it is capitalized
        ("the other", "is that product"),
        ("samplacloprid", ""),
        ("demo", ""),  # a part of a name names nothing
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_label_keeps_a_named_product_or_ingredient_out(
    named: str, says: str, turned: bool
) -> None:
    row = NotWith(named, "Do not mix with it.", Severity.REFUSE, "p. 6")
    strict = replace(POWDER, not_with=(row,), contains=frozenset({"demothrin"}))
    other = replace(FLOWABLE, name="The other", contains=frozenset({"demothrin"}))
    found = tank_mix_checks((other, strict) if turned else (strict, other), AREA)
    assert [one.severity for one in found] == ([Severity.REFUSE] if says else [])
    assert all((one.code, one.clause) == ("tank_mix", "p. 6") for one in found)
    assert all(says in one.sentence and "The other" in one.sentence for one in found)


def test_agitation_of_each_label_stands_before_the_time_to_use() -> None:
    both = tuple(replace(one, agitation=("Agitate: always.",)) for one in (POWDER, FLOWABLE))
    steps = tank_mix_steps(d(2), both, dict.fromkeys((POWDER.name, FLOWABLE.name), "1 oz"))
    assert steps[-2] == "Agitate: always." and steps.count("Agitate: always.") == 1


@pytest.mark.parametrize(
    "formulation",
    ["granule", "dust", "gel", "bait", "foam", "aerosol", "ready_to_use"],
)
def test_what_takes_no_water_is_refused(formulation: str) -> None:
    dry = InTank("Demonstration", "p. 1", Formulation(formulation))
    (one,) = tank_mix_checks((dry, FLOWABLE), AREA)
    assert one.severity == Severity.REFUSE and "does not go into a tank" in one.sentence


def test_the_same_product_twice_is_refused() -> None:
    (one,) = tank_mix_checks((FLOWABLE, FLOWABLE), AREA)
    assert one.severity == Severity.REFUSE and "twice" in one.sentence


def with_lb(product: InTank, lb: str, *limits: str, before: str = "0") -> InTank:
    return replace(
        product,
        ingredients_lb={"demothrin": d(lb)},
        yearly=tuple(YearlyLimit(d(limit)) for limit in limits),
        before_lb={"demothrin": d(before)},
    )


@pytest.mark.parametrize(
    ("limit", "severity"), [("0.45375", Severity.NOTE), ("0.45374", Severity.REFUSE)]
)
def test_one_ingredient_in_two_products_is_added_up(limit: str, severity: Severity) -> None:
    """Derived: 0.0083333 lb on 1,600 sq ft is 0.226875 lb per acre (trade.md 1.6); twice 0.45375.

    Equal passes: 1/120 lb twice is 1/60 lb, times 43,560 / 1,600.
    """
    lb = "0.008333333333333333333333333"
    (one,) = tank_mix_checks((with_lb(FLOWABLE, lb, limit), with_lb(EMULSION, lb)), AREA)
    assert (one.code, one.severity, one.clause) == (
        "ingredient_together",
        severity,
        FLOWABLE.clause,
    )
    assert "0.4537 lb per acre this year" in one.sentence or "0.4538" in one.sentence


def test_what_was_put_down_before_counts_with_it() -> None:
    half = with_lb(FLOWABLE, "0.01", "1", before="0.02")
    # derived: 0.01 + 0.02 + 0.006734 lb on 1,600 sq ft are 1.0000 lb per acre, a hair above
    (one,) = tank_mix_checks((half, with_lb(EMULSION, "0.006735")), AREA)
    assert one.severity == Severity.REFUSE
    (one,) = tank_mix_checks((half, with_lb(EMULSION, "0.006730")), AREA)
    assert one.severity == Severity.NOTE
    (one,) = tank_mix_checks(
        (replace(half, before_lb={"demothrin": None}), with_lb(EMULSION, "0.1")), AREA
    )
    assert one.severity == Severity.WARN and "by hand" in one.to_do


def test_each_label_is_asked_and_other_ingredients_are_not_mixed_up() -> None:
    low, high = with_lb(FLOWABLE, "0.01", "0.3"), with_lb(EMULSION, "0.01", "3")
    found = tank_mix_checks((low, high), AREA)
    assert [one.severity for one in found] == [Severity.REFUSE, Severity.NOTE]
    other = replace(high, ingredients_lb={"samplacloprid": d(9)})
    assert tank_mix_checks((low, other), AREA) == ()


pounds = st.decimals(d("0"), d("5"), places=4)


@given(pounds, pounds, pounds, st.decimals(d("0.01"), d("50"), places=2))
def test_the_order_of_the_products_changes_no_answer(
    one: Decimal, other: Decimal, before: Decimal, limit: Decimal
) -> None:
    a = with_lb(FLOWABLE, str(one), str(limit), before=str(before))
    b = with_lb(EMULSION, str(other), str(limit), before=str(before))
    there, back = tank_mix_checks((a, b), AREA), tank_mix_checks((b, a), AREA)
    assert set(there) == set(back)
    # by plain fractions: pounds times 43,560 over 1,600 square feet
    refused = (one + other + before) * 43560 > limit * 1600
    assert {judged.severity for judged in there} == {Severity.REFUSE if refused else Severity.NOTE}


def test_steps_name_each_product_in_its_turn() -> None:
    readings = {"Emulsion": "15 mL", "Powder": "0.5 oz (wt)", "Sticker": "3 mL"}
    steps = tank_mix_steps(d(2), (EMULSION, SPREADER, POWDER), readings)
    turns = [next(n for n, step in enumerate(steps) if name in step) for name in
             ("0.5 oz (wt) of Powder", "15 mL of Emulsion", "3 mL of Sticker")]  # fmt: skip
    assert turns == sorted(turns)
    assert "slurry" in steps[turns[0]] and "Last" in steps[turns[2]]
    half = next(n for n, step in enumerate(steps) if "half the water, 1.00 gal" in step)
    assert half < turns[0] and "2.00 gal line" in steps[-2]
    assert "jar" in steps[1]


def test_a_row_that_warns_never_refuses_and_names_its_own_page() -> None:
    row = YearlyLimit(d("0.1"), Severity.WARN, "label, p. 2")
    strict = replace(with_lb(FLOWABLE, "0.01"), yearly=(row,))
    (one,) = tank_mix_checks((strict, with_lb(EMULSION, "0.01")), AREA)
    assert (one.severity, one.clause) == (Severity.WARN, "label, p. 2")
    asks = replace(POWDER, forbids_mixing="Do not mix.", forbids_severity=Severity.WARN)
    (one,) = tank_mix_checks((asks, EMULSION), AREA)
    assert one.severity == Severity.WARN


def test_a_strength_nobody_knows_warns() -> None:
    unknown = replace(EMULSION, ingredients_lb={"demothrin": None})
    (one,) = tank_mix_checks((with_lb(FLOWABLE, "0.01", "3"), unknown), AREA)
    assert one.severity == Severity.WARN and "not known" in one.sentence
