"""The label's answers, clause by clause; all label data is invented (99999-101 demo)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.places import PestGroup, Place, PreferenceKind, Surface
from sites.rules.units import Amount
from treatments.rules.label_checks import (
    Conditions,
    HardPreference,
    Judgement,
    LabelFacts,
    LabelLimit,
    License,
    ProposedUse,
    ZoneUse,
    allowed,
    check,
)
from treatments.rules.products import (
    Comparison,
    LicenseKind,
    LimitFact,
    Method,
    RateBasis,
    Severity,
)
from treatments.rules.rates import Rate


def d(text: str) -> Decimal:
    return Decimal(text)


DAY = date(2026, 9, 10)
PAGE_7 = "Label 99999-101 demo, page 7"
TECHNICIAN = License(LicenseKind.REGISTERED_TECHNICIAN, "T-100", "OH", date(2027, 2, 28))
CERTIFIED = replace(TECHNICIAN, kind=LicenseKind.CERTIFIED, number="C-7")
LABEL = LabelFacts(
    product_name="Demonstration A SC",
    number="99999-101",
    clause=PAGE_7,
    places=frozenset({Place.FOUNDATION_WALL, Place.SOIL_BAND, Place.EAVE_SOFFIT}),
    methods=frozenset({Method.PERIMETER_BAND, Method.SPOT}),
    pests=frozenset({"Boxelder bug"}),
    pest_groups=frozenset({PestGroup.ANTS}),
    prohibited_methods=frozenset({Method.SPACE}),
    rate_min=Rate.of(RateBasis.AREA, d("0.5"), "fl_oz"),
    rate_max=Rate.of(RateBasis.AREA, d("1"), "fl_oz"),
    min_finished_gal=d("1"),
    max_finished_gal=d("5"),
    min_interval_days=21,
    uses_per_year=4,
)
ZONE = ZoneUse(
    "Zone A",
    Place.FOUNDATION_WALL,
    Surface.PAINTED,
    Amount(d("1080"), "ft2"),
    height_up_ft=d("3"),
    width_out_ft=d("3"),
    last_used_on=date(2026, 8, 20),
    uses_this_year=1,
)
USE = ProposedUse(
    on=DAY,
    state="OH",
    zones=(ZONE,),
    method=Method.PERIMETER_BAND,
    pests={"Boxelder bug": PestGroup.OVERWINTERING},
    product=Amount(d("1.08"), "fl_oz"),
    finished=Amount(d("1.08"), "gal"),
    license=TECHNICIAN,
)


def judged(code: str, facts: LabelFacts = LABEL, use: ProposedUse = USE) -> list[Judgement]:
    return [one for one in check(facts, use, before_mixing=True) if one.code == code]


def only(code: str, facts: LabelFacts = LABEL, use: ProposedUse = USE) -> Judgement:
    (found,) = judged(code, facts, use)
    return found


def in_zone(**changes: object) -> ProposedUse:
    return replace(USE, zones=(replace(ZONE, **changes),))


def with_limit(
    fact: LimitFact, comparison: Comparison, limit: str | None, severity: Severity = Severity.REFUSE
) -> LabelFacts:
    bound = None if limit is None else d(limit)
    row = LabelLimit(fact, comparison, bound, severity, "Label 99999-101 demo, page 4")
    return replace(LABEL, limits=(row,))


def test_a_use_at_the_maximum_passes_and_says_both_numbers() -> None:
    """Equal to the maximum passes (reference/regulations.md 5.3, 8)."""
    answers = check(LABEL, USE, before_mixing=True)
    assert allowed(answers)
    assert {one.severity for one in answers} == {Severity.NOTE}
    assert only("rate").sentence == "rate 1.00, most 1.00 fl oz per 1,000 sq ft"
    assert only("interval").sentence == "Zone A: 21 days since the last use, label asks 21"
    assert only("uses").sentence == "Zone A: use 2 of 4 this year"


def test_over_the_maximum() -> None:
    """reference/regulations.md 5.3, 7: 0.80 on 1,000 sq ft, label 0.67."""
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
    """1 fl oz made up to a gallon is 0.78125 % (reference/regulations.md 5.3, 4)."""
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
    """reference/trade.md 9.4, 15: last on Mar 1 and 21 days is Mar 22 at the earliest."""
    use = replace(in_zone(last_used_on=date(2026, 3, 1)), on=date(2026, 3, 15))
    found = only("interval", LABEL, use)
    assert found.severity == Severity.REFUSE
    assert found.sentence == "Zone A was treated 14 days ago; the label asks for 21."
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
    """Four services at 0.226875 lb per acre are 0.9075 (reference/trade.md 1.6)."""
    fact = LimitFact.INGREDIENT_PER_ACRE_YEAR
    facts = with_limit(fact, Comparison.AT_MOST, "0.9075")
    acre = in_zone(area=Amount(d("1"), "acre"))
    use = replace(acre, ingredient_lb=d("0.226875"), ingredient_lb_this_year=d(before))
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
    ("fact", "zone", "method", "severity"),
    [
        (LimitFact.HEIGHT_UP, {}, Method.PERIMETER_BAND, Severity.NOTE),
        (LimitFact.HEIGHT_UP, {"height_up_ft": d("3.01")}, Method.PERIMETER_BAND, Severity.REFUSE),
        (LimitFact.WIDTH_OUT, {"width_out_ft": d("5")}, Method.PERIMETER_BAND, Severity.REFUSE),
        (LimitFact.SPOT_SIZE, {"spot_sq_ft": d("3")}, Method.SPOT, Severity.NOTE),
        (LimitFact.SPOT_SIZE, {"spot_sq_ft": d("3.5")}, Method.SPOT, Severity.REFUSE),
        (LimitFact.SPOT_SIZE, {}, Method.SPOT, Severity.WARN),
    ],
)
def test_band_and_spot_limits(
    fact: LimitFact, zone: dict[str, Decimal], method: Method, severity: Severity
) -> None:
    """The wall to at most 3 ft above grade (reference/regulations.md 1.9, 3)."""
    use = replace(in_zone(**zone), method=method)
    assert only(fact, with_limit(fact, Comparison.AT_MOST, "3"), use).severity == severity


def test_an_eave_has_no_height_limit_but_needs_cover() -> None:
    """Underside of eaves permanently protected from rain (reference/regulations.md 1.9, 4)."""
    eave = in_zone(place=Place.EAVE_SOFFIT, height_up_ft=d("9"))
    high = with_limit(LimitFact.HEIGHT_UP, Comparison.AT_MOST, "3")
    assert judged("height_up", high, eave) == []
    rain = with_limit(LimitFact.RAIN_PROTECTED_ONLY, Comparison.REQUIRED, None)
    assert only("rain_protected_only", rain, eave).severity == Severity.REFUSE
    dry = in_zone(place=Place.EAVE_SOFFIT, is_rain_protected=True)
    assert only("rain_protected_only", rain, dry).severity == Severity.NOTE


@pytest.mark.parametrize(("inches", "severity"), [(1, Severity.NOTE), (2, Severity.REFUSE)])
def test_entry_bands_are_an_inch_wide(inches: int, severity: Severity) -> None:
    """reference/regulations.md 1.9, 5; a zone's lengths are feet."""
    use = in_zone(place=Place.ENTRY_POINT, height_up_ft=d("0"), width_out_ft=Decimal(inches) / 12)
    facts = with_limit(LimitFact.ENTRY_BAND, Comparison.AT_MOST, "1")
    assert only("entry_band", facts, use).severity == severity


@pytest.mark.parametrize(
    ("surface", "over", "method", "severity"),
    [
        (Surface.IMPERVIOUS, False, Method.PERIMETER_BAND, Severity.REFUSE),
        (Surface.IMPERVIOUS, False, Method.SPOT, Severity.NOTE),
        (Surface.PAINTED, True, Method.PERIMETER_BAND, Severity.WARN),
    ],
)
def test_impervious_horizontal(
    surface: Surface, over: bool, method: Method, severity: Severity
) -> None:
    """Only spots, cracks and crevices there (reference/regulations.md 1.9)."""
    facts = with_limit(LimitFact.IMPERVIOUS_HORIZONTAL, Comparison.FORBIDDEN, None)
    use = replace(in_zone(surface=surface, is_over_impervious=over), method=method)
    assert only("impervious_horizontal", facts, use).severity == severity


WEATHER = Conditions(d("10"), d("50"), d("24"), d("40"))


@pytest.mark.parametrize(
    ("fact", "comparison", "limit", "severities"),
    [
        (LimitFact.WIND, Comparison.AT_MOST, "10", [Severity.NOTE]),
        (LimitFact.WIND, Comparison.AT_MOST, "9.9", [Severity.REFUSE]),
        (LimitFact.TEMPERATURE_MIN, Comparison.AT_LEAST, "51", [Severity.REFUSE]),
        (LimitFact.TEMPERATURE_MAX, Comparison.AT_MOST, "90", [Severity.NOTE]),
        (LimitFact.RAIN_HOURS, Comparison.AT_LEAST, "24", [Severity.NOTE]),
        (LimitFact.WATER_DISTANCE, Comparison.AT_LEAST, "25", [Severity.NOTE]),
        (LimitFact.WATER_DISTANCE, Comparison.AT_LEAST, "32", [Severity.WARN, Severity.NOTE]),
        (LimitFact.WATER_DISTANCE, Comparison.AT_LEAST, "41", [Severity.REFUSE]),
    ],
)
def test_conditions(
    fact: LimitFact, comparison: Comparison, limit: str, severities: list[Severity]
) -> None:
    facts = with_limit(fact, comparison, limit)
    found = judged(fact, facts, replace(USE, conditions=WEATHER))
    assert [one.severity for one in found] == severities
    missing = only(fact, facts)
    assert missing.severity == Severity.WARN and "not measured" in missing.sentence


def test_unverified_limits_warn_only() -> None:
    facts = with_limit(LimitFact.WIND, Comparison.AT_MOST, "5", Severity.WARN)
    use = replace(USE, conditions=WEATHER)
    assert only("wind", facts, use).severity == Severity.WARN
    assert only("wind", facts, use).sentence == "Wind 10 mph, most 5."


def test_a_limit_that_is_not_judged_says_so() -> None:
    facts = with_limit(LimitFact.PRODUCT_PER_AREA_YEAR, Comparison.AT_MOST, "4")
    assert only("product_per_area_year", facts).severity == Severity.WARN


@pytest.mark.parametrize(
    ("held", "says"),
    [
        (None, "No license is on file"),
        (replace(TECHNICIAN, state="PA"), "is for PA; this property is in OH"),
        (replace(TECHNICIAN, expires_on=DAY - timedelta(1)), "ran out on Sep 9, 2026"),
        (replace(TECHNICIAN, issued_on=DAY + timedelta(1)), "begins on Sep 11, 2026"),
    ],
)
def test_licenses_refused(held: License | None, says: str) -> None:
    found = only("license", LABEL, replace(USE, license=held))
    assert found.severity == Severity.REFUSE and says in found.sentence


def test_the_last_day_of_a_license_counts() -> None:
    use = replace(USE, license=replace(TECHNICIAN, expires_on=DAY))
    assert only("license", LABEL, use).severity == Severity.NOTE


def test_license_category_warns() -> None:
    use = replace(USE, categories=frozenset({"10a"}))
    assert only("category", LABEL, use).severity == Severity.WARN
    has = replace(use, license=replace(TECHNICIAN, categories=frozenset({"10a"})))
    assert judged("category", LABEL, has) == []


@pytest.mark.parametrize(
    ("held", "supervisor", "severity"),
    [
        (CERTIFIED, None, Severity.NOTE),
        (TECHNICIAN, None, Severity.REFUSE),
        (TECHNICIAN, CERTIFIED, Severity.NOTE),
        (TECHNICIAN, TECHNICIAN, Severity.REFUSE),
        (TECHNICIAN, replace(CERTIFIED, expires_on=date(2026, 1, 1)), Severity.REFUSE),
        (TECHNICIAN, replace(CERTIFIED, state="PA"), Severity.REFUSE),
    ],
)
def test_restricted_use(held: License, supervisor: License | None, severity: Severity) -> None:
    """reference/regulations.md 7.4: restricted use, technician without supervisor fails."""
    facts = replace(LABEL, is_restricted_use=True)
    use = replace(USE, license=held, supervisor=supervisor)
    assert only("restricted", facts, use).severity == severity


def wish(kind: PreferenceKind, **more: str) -> ProposedUse:
    said = HardPreference(kind, "Dana Whitcomb", date(2026, 4, 2), **more)
    return replace(USE, preferences=(said,))


def test_what_the_customer_said() -> None:
    bait = only("preference", LABEL, wish(PreferenceKind.BAIT_ONLY))
    assert bait.severity == Severity.REFUSE
    assert bait.sentence == "The customer said bait only: Dana Whitcomb, Apr 2, 2026."
    baited = replace(wish(PreferenceKind.BAIT_ONLY), method=Method.BAIT)
    assert judged("preference", LABEL, baited) == []
    call = only("preference", LABEL, wish(PreferenceKind.CALL_FIRST))
    assert call.severity == Severity.WARN


def test_no_pesticide_inside() -> None:
    outside = wish(PreferenceKind.NO_PESTICIDE_INSIDE)
    assert judged("preference", LABEL, outside) == []
    inside = replace(outside, zones=(replace(ZONE, place=Place.ATTIC),))
    assert only("preference", LABEL, inside).severity == Severity.REFUSE


def test_a_refused_product() -> None:
    kind = PreferenceKind.PRODUCT_REFUSED
    this = wish(kind, product_name="demonstration a sc")
    assert only("preference", LABEL, this).severity == Severity.REFUSE
    assert judged("preference", LABEL, wish(kind, product_name="Demonstration B gel")) == []
    assert only("preference", LABEL, wish(kind)).severity == Severity.WARN


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
