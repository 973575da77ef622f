"""What is booked and not yet recorded, and the same ingredient in several products."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import Amount
from tests.treatments.rules.label_cases import LABEL, USE, ZONE, d, in_zone, judged, with_limit
from treatments.rules.label_checks import IngredientUse, ProposedUse, check
from treatments.rules.products import Comparison, LimitFact, Severity

DECEMBER = date(2026, 12, 9)
PER_ACRE = with_limit(LimitFact.INGREDIENT_PER_ACRE_YEAR, Comparison.AT_MOST, "1")


def acre(*ingredients: IngredientUse, booked: int = 0) -> ProposedUse:
    use = in_zone(area=Amount(d("1"), "acre"), booked_on=(DECEMBER,) * booked)
    return replace(use, ingredients=ingredients)


@pytest.mark.parametrize(
    ("made", "booked", "severity", "words"),
    [
        # label: 4 uses a year, 21 days between (invented); this use is Sep 10, 2026
        (1, (DECEMBER,), Severity.NOTE, "use 2 of 4 this year"),
        (2, (DECEMBER,), Severity.WARN, "use 3 of 4 this year, one more is booked Dec 9, 2026."),
        (3, (DECEMBER,), Severity.WARN, "use 4 of 4 this year, one more is booked Dec 9, 2026."),
        (4, (DECEMBER,), Severity.REFUSE, "had 4 uses this year"),
        (2, (date(2027, 1, 4),), Severity.NOTE, "use 3 of 4 this year"),  # another year's use
        (2, (), Severity.NOTE, "use 3 of 4 this year"),
    ],
)
def test_uses_count_what_is_booked(
    made: int, booked: tuple[date, ...], severity: Severity, words: str
) -> None:
    (found,) = judged("uses", LABEL, in_zone(uses_this_year=made, booked_on=booked))
    assert (found.severity, words in found.sentence) == (severity, True)


@pytest.mark.parametrize(
    ("day", "warns"),
    [
        (date(2026, 9, 30), True),  # 20 days after Sep 10; the label asks for 21
        (date(2026, 10, 1), False),
    ],
)
def test_a_visit_booked_inside_the_interval(day: date, warns: bool) -> None:
    found = judged("interval", LABEL, in_zone(last_used_on=None, booked_on=(day,)))
    assert [one.severity for one in found] == [Severity.WARN] * warns
    assert all("Oct 1, 2026 or later" in one.to_do for one in found)


@pytest.mark.parametrize(
    ("last", "warns"), [(date(2026, 8, 21), True), (date(2026, 8, 20), False), (None, False)]
)
def test_the_same_ingredient_in_another_product_inside_the_interval(
    last: date | None, warns: bool
) -> None:
    found = judged("interval", LABEL, in_zone(last_used_on=None, ingredient_used_on=last))
    assert [one.severity for one in found] == [Severity.WARN] * warns


def test_each_ingredient_is_judged_by_name() -> None:
    over = IngredientUse("demothrin", d("0.6"), d("0.5"))
    within = IngredientUse("invenacloprid", d("0.2"), d("0.5"))
    unknown = IngredientUse("testafenoxole", d("0.2"), None)
    found = judged("ingredient", PER_ACRE, acre(over, within, unknown))
    assert [(one.severity, one.sentence.split(" put")[0]) for one in found] == [
        (Severity.REFUSE, "1.1 lb demothrin per acre this year, most 1."),
        (Severity.WARN, "testafenoxole"),
        (Severity.NOTE, "0.7 lb invenacloprid per acre this year, most 1"),
    ]


@pytest.mark.parametrize(
    ("booked", "severity"), [(0, Severity.NOTE), (1, Severity.NOTE), (2, Severity.WARN)]
)
def test_visits_booked_are_taken_to_need_as_much(booked: int, severity: Severity) -> None:
    """0.25 now and 0.5 before are 0.75; one more is 1 of at most 1, two are 1.25 (derived)."""
    use = acre(IngredientUse("demothrin", d("0.25"), d("0.5")), booked=booked)
    assert [one.severity for one in judged("ingredient", PER_ACRE, use)] == [severity]


@given(st.permutations(range(4)), st.booleans())
def test_judgements_do_not_depend_on_the_order_of_zones(order: list[int], done: bool) -> None:
    zones = [
        replace(ZONE, name="A"),
        replace(ZONE, name="B", last_used_on=USE.on, booked_on=(DECEMBER,)),
        replace(ZONE, name="C", uses_this_year=4, area=Amount(d("3"), "ft2")),
        replace(ZONE, name="D", ingredient_used_on=USE.on, height_up_ft=d("9")),
    ]
    limit = with_limit(LimitFact.HEIGHT_UP, Comparison.AT_MOST, "3").limits
    facts = replace(PER_ACRE, limits=(*PER_ACRE.limits, *limit))
    known = (IngredientUse("demothrin", d("0.01"), d("0.001")),)
    straight = replace(USE, zones=tuple(zones), ingredients=known)
    mixed = replace(straight, zones=tuple(zones[place] for place in order))
    assert set(check(facts, mixed, before_mixing=not done)) == set(
        check(facts, straight, before_mixing=not done)
    )
