"""Place, method, pest, rate and history, clause by clause; label data is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.places import PestGroup, Place
from sites.rules.units import Amount
from tests.treatments.rules.label_cases import (
    DAY,
    LABEL,
    USE,
    d,
    in_zone,
    judged,
    only,
    with_limit,
)
from treatments.rules.label_checks import (
    IngredientUse,
    LabelFacts,
    allowed,
    check,
)
from treatments.rules.products import (
    Comparison,
    LimitFact,
    Method,
    RateBasis,
    Severity,
)
from treatments.rules.rates import Rate


def test_a_use_at_the_maximum_passes_and_says_both_numbers() -> None:
    """Equal to the maximum passes ("at most" of a label; house reading)."""
    answers = check(LABEL, USE, before_mixing=True)
    assert allowed(answers)
    assert {one.severity for one in answers} == {Severity.NOTE}
    assert only("rate").sentence == "rate 1.00, most 1.00 fl oz per 1,000 sq ft"
    assert only("interval").sentence == "Zone A: 21 days since the last use, label asks 21"
    assert only("uses").sentence == "Zone A: use 2 of 4 this year"


def test_over_the_maximum() -> None:
    """Derived: 0.80 on 1,000 sq ft, label 0.67."""
    facts = replace(LABEL, rate_max=Rate.of(RateBasis.AREA, d("0.67"), "fl_oz"))
    use = replace(in_zone(area=Amount(d("1000"), "ft2")), product=Amount(d("0.80"), "fl_oz"))
    found = only("rate", facts, use)
    assert found.severity == Severity.REFUSE
    assert found.whole == (
        "Rate 0.80 fl oz per 1,000 sq ft; the most is 0.67 fl oz per 1,000 sq ft. "
        "Label 99999-101 demo, page 7. Put no more than 0.67 fl oz, or measure again."
    )
    within = replace(use, product=Amount(d("0.66"), "fl_oz"))
    assert only("rate", facts, within).severity == Severity.NOTE


@given(st.decimals(d("0.000001"), d("1000"), places=6), st.integers(1, 10**7))
def test_there_is_no_tolerance_at_a_maximum(area: Decimal, extra: int) -> None:
    use = in_zone(area=Amount(area, "ft2"))
    most = area / 1000  # exact: at most one fl oz per 1,000 sq ft
    at = replace(use, product=Amount(most, "fl_oz"))
    over = replace(use, product=Amount(most + d("1e-15") * extra, "fl_oz"))
    assert only("rate", LABEL, at).severity == Severity.NOTE
    assert only("rate", LABEL, over).severity == Severity.REFUSE


@pytest.mark.parametrize(
    ("product", "severity"),
    [
        (Amount(d("0.539"), "fl_oz"), Severity.WARN),
        (Amount(d("0.54"), "fl_oz"), Severity.NOTE),
        (Amount(d("31.93"), "mL"), Severity.NOTE),
        (Amount(d("31.95"), "mL"), Severity.REFUSE),
        (Amount(d("1"), "oz_wt"), Severity.REFUSE),
    ],
)
def test_rates_in_other_units(product: Amount, severity: Severity) -> None:
    """1.08 fl oz is 31.9394... mL; ounces by weight are another kind."""
    assert only("rate", LABEL, replace(USE, product=product)).severity == severity


def test_a_rate_on_something_not_measured() -> None:
    facts = replace(LABEL, rate_max=Rate.of(RateBasis.LINEAR, d("1"), "fl_oz"), rate_min=None)
    assert "was not measured" in only("rate", facts).sentence
    measured = replace(USE, length=Amount(d("10"), "lf"))
    assert only("rate", facts, measured).severity == Severity.REFUSE


def test_percent_of_finished_spray() -> None:
    """1 fl oz made up to a gallon is 0.78125 % (derived, 1 / 128)."""
    facts = replace(LABEL, rate_max=Rate.of(RateBasis.PERCENT, d("0.78125"), "gal"), rate_min=None)
    assert only("rate", facts).severity == Severity.NOTE
    over = replace(USE, product=Amount(d("1.09"), "fl_oz"))
    assert only("rate", facts, over).severity == Severity.REFUSE


@pytest.mark.parametrize(
    ("gallons", "severity"),
    [("1.07", Severity.WARN), ("5.4", Severity.NOTE), ("5.41", Severity.WARN)],
)
def test_finished_volume(gallons: str, severity: Severity) -> None:
    use = replace(USE, finished=Amount(d(gallons), "gal"))
    assert only("volume", LABEL, use).severity == severity


def test_without_a_measured_area_the_rate_is_not_known_and_the_volume_not_judged() -> None:
    use = in_zone(area=Amount(d("0"), "ft2"))
    found = only("rate", LABEL, use)
    assert found.severity == Severity.WARN and "was not measured" in found.sentence
    assert judged("volume", LABEL, use) == []


@pytest.mark.parametrize(("least", "most"), [(None, d("0.5")), (d("2"), None)])
def test_one_end_of_the_volume_is_judged_alone(least: Decimal | None, most: Decimal | None) -> None:
    """The use puts 1 gal on 1,000 sq ft: above a lone most of 0.5, below a lone least of 2."""
    label = replace(LABEL, min_finished_gal=least, max_finished_gal=most)
    assert only("volume", label).severity == Severity.WARN


def test_the_least_rate_is_counted_on_its_own_basis() -> None:
    """1.08 fl oz in 1.08 gal is 1 a gallon, above a least of 0.9 a gallon; on 1,080 sq ft too."""
    label = replace(LABEL, rate_min=Rate.of(RateBasis.FINISHED_VOLUME, d("1.1"), "fl_oz"))
    assert only("rate", label).severity != Severity.NOTE
    label = replace(LABEL, rate_min=Rate.of(RateBasis.FINISHED_VOLUME, d("0.9"), "fl_oz"))
    assert only("rate", label).severity == Severity.NOTE


def test_place_not_on_the_label() -> None:
    found = only("place", LABEL, in_zone(place=Place.FOOD_AREA))
    assert found.severity == Severity.REFUSE
    assert found.sentence == (
        "Food area is not on this direction; it is for foundation wall, soil band, eave or soffit."
    )
    assert "Zone A" in found.to_do


@pytest.mark.parametrize(
    ("method", "only_these", "profile", "severity"),
    [
        (Method.PERIMETER_BAND, False, Severity.WARN, Severity.NOTE),
        (Method.SPACE, False, Severity.WARN, Severity.REFUSE),
        (Method.DUST, False, Severity.WARN, Severity.WARN),
        (Method.DUST, True, Severity.WARN, Severity.REFUSE),
        (Method.DUST, False, Severity.REFUSE, Severity.REFUSE),
    ],
)
def test_methods(method: Method, only_these: bool, profile: Severity, severity: Severity) -> None:
    use = replace(USE, method=method, allows_unlisted_method=profile)
    assert only("method", replace(LABEL, only_these=only_these), use).severity == severity


@pytest.mark.parametrize(
    ("pest", "group", "only_these", "severity"),
    [
        ("boxelder BUG", PestGroup.OVERWINTERING, True, Severity.NOTE),
        ("Pavement ant", PestGroup.ANTS, True, Severity.NOTE),
        ("Cluster fly", PestGroup.FLIES, False, Severity.WARN),
        ("Cluster fly", PestGroup.FLIES, True, Severity.REFUSE),
    ],
)
def test_pests(pest: str, group: PestGroup, only_these: bool, severity: Severity) -> None:
    use = replace(USE, pests={pest: group})
    assert only("pest", replace(LABEL, only_these=only_these), use).severity == severity


def test_too_soon() -> None:
    """Derived by the calendar: last on Mar 1 and 21 days is Mar 22 at the earliest."""
    use = replace(in_zone(last_used_on=date(2026, 3, 1)), on=date(2026, 3, 15))
    found = only("interval", LABEL, use)
    assert found.severity == Severity.REFUSE
    assert found.sentence == "Zone A was treated 14 days ago; the label asks for 21 days."
    assert found.to_do.startswith("Come back on or after Mar 22, 2026")
    assert only("interval", LABEL, replace(use, on=date(2026, 3, 22))).severity == Severity.NOTE
    assert judged("interval", LABEL, in_zone(last_used_on=None)) == []


@pytest.mark.parametrize(("made", "severity"), [(3, Severity.NOTE), (4, Severity.REFUSE)])
def test_uses_per_year(made: int, severity: Severity) -> None:
    assert only("uses", LABEL, in_zone(uses_this_year=made)).severity == severity


@pytest.mark.parametrize(
    ("before", "severity"), [("0.680625", Severity.NOTE), ("0.680626", Severity.REFUSE)]
)
def test_ingredient_per_acre_and_year(before: str, severity: Severity) -> None:
    """Four services at 0.226875 lb per acre are 0.9075 (derived)."""
    fact = LimitFact.INGREDIENT_PER_ACRE_YEAR
    facts = with_limit(fact, Comparison.AT_MOST, "0.9075")
    acre = in_zone(area=Amount(d("1"), "acre"))
    demothrin = IngredientUse("demothrin", d("0.226875"), d(before))
    use = replace(acre, ingredients=(demothrin,))
    assert only("ingredient", facts, use).severity == severity
    assert only("ingredient", facts, acre).severity == Severity.WARN


def test_history_that_is_not_known() -> None:
    use = replace(USE, history_known_since=date(2026, 6, 1))
    found = only("history", LABEL, use)
    assert found.severity == Severity.WARN
    assert found.sentence == "History before Jun 1, 2026 is not known here."
    assert judged("history", LABEL, replace(USE, history_known_since=date(2026, 1, 1))) == []
    only_interval = replace(LABEL, uses_per_year=None)
    assert judged("history", only_interval, use) == []
    assert judged("history", only_interval, replace(use, history_known_since=DAY))


@pytest.mark.parametrize(
    ("facts", "stops"),
    [
        (replace(LABEL, effective_on=DAY), False),
        (replace(LABEL, effective_on=DAY + timedelta(1)), True),
        (replace(LABEL, not_to_be_used_after=DAY), False),
        (replace(LABEL, not_to_be_used_after=DAY - timedelta(1)), True),
    ],
)
def test_label_versions(facts: LabelFacts, stops: bool) -> None:
    assert [one.severity for one in judged("version", facts)] == [Severity.REFUSE] * stops
    assert allowed(check(facts, USE, before_mixing=True)) is not stops


def test_afterwards_a_refusal_is_a_violation() -> None:
    use = replace(USE, product=Amount(d("1.2"), "fl_oz"))
    before = check(LABEL, use, before_mixing=True)
    after = check(LABEL, use, before_mixing=False)
    assert before[0].severity == Severity.REFUSE and after[0].severity == Severity.VIOLATION
    assert (before[0].code, before[0].sentence) == (after[0].code, after[0].sentence)
    assert not allowed(before) and not allowed(after)
    assert after[0].to_do.startswith("Leave the record as it was done")


def test_what_stops_comes_first_and_what_passed_last() -> None:
    use = replace(USE, product=Amount(d("2"), "fl_oz"), pests={"Cluster fly": PestGroup.FLIES})
    severities = [one.severity for one in check(LABEL, use, before_mixing=True)]
    assert severities == sorted(severities, key=list(Severity).index)
    assert severities[0] == Severity.REFUSE and severities[-1] == Severity.NOTE
