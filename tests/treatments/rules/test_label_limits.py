"""Typed limits of a label: band, spot, surface, weather, water; label data is invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from sites.rules.places import Place, Surface
from tests.treatments.rules.label_cases import (
    DAY,
    USE,
    d,
    in_zone,
    judged,
    only,
    with_limit,
)
from treatments.rules.label_checks import (
    Conditions,
)
from treatments.rules.products import (
    Comparison,
    LimitFact,
    Method,
    Severity,
)


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
    """The wall to at most 3 ft above grade (EPA outdoor pyrethroid labels, read)."""
    use = replace(in_zone(**zone), method=method)
    assert only(fact, with_limit(fact, Comparison.AT_MOST, "3"), use).severity == severity


def test_an_eave_has_no_height_limit_but_needs_cover() -> None:
    """Underside of eaves permanently protected from rain (same EPA page)."""
    eave = in_zone(place=Place.EAVE_SOFFIT, height_up_ft=d("9"))
    high = with_limit(LimitFact.HEIGHT_UP, Comparison.AT_MOST, "3")
    assert judged("height_up", high, eave) == []
    rain = with_limit(LimitFact.RAIN_PROTECTED_ONLY, Comparison.REQUIRED, None)
    assert only("rain_protected_only", rain, eave).severity == Severity.REFUSE
    dry = in_zone(place=Place.EAVE_SOFFIT, is_rain_protected=True)
    assert only("rain_protected_only", rain, dry).severity == Severity.NOTE


@pytest.mark.parametrize(("inches", "severity"), [(1, Severity.NOTE), (2, Severity.REFUSE)])
def test_entry_bands_are_an_inch_wide(inches: int, severity: Severity) -> None:
    """EPA outdoor pyrethroid label language (read); a zone's lengths are feet."""
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
    """Only spots, cracks and crevices there (EPA outdoor pyrethroid labels, read)."""
    facts = with_limit(LimitFact.IMPERVIOUS_HORIZONTAL, Comparison.FORBIDDEN, None)
    use = replace(in_zone(surface=surface, is_over_impervious=over), method=method)
    assert only("impervious_horizontal", facts, use).severity == severity


WEATHER = Conditions(d("10"), d("50"), d("40"), DAY)


@pytest.mark.parametrize(
    ("fact", "comparison", "limit", "severities"),
    [
        (LimitFact.WIND, Comparison.AT_MOST, "10", [Severity.NOTE]),
        (LimitFact.WIND, Comparison.AT_MOST, "9.9", [Severity.REFUSE]),
        (LimitFact.TEMPERATURE_MIN, Comparison.AT_LEAST, "51", [Severity.REFUSE]),
        (LimitFact.TEMPERATURE_MAX, Comparison.AT_MOST, "90", [Severity.NOTE]),
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


@pytest.mark.parametrize(
    ("feet", "is_measured", "severities"),
    [
        (None, False, ["warn"]),  # absent: asks for a measurement
        ("100", False, ["warn"]),  # drawn, however far: asks for a measurement
        ("24.9", True, ["refuse"]),
        ("25", True, ["note", "warn"]),
        ("31.2", True, ["note", "warn"]),  # 25 % of 25 ft are 6.25 ft
        ("31.25", True, ["note", "warn"]),
        ("31.3", True, ["note"]),
    ],
)
def test_water_counts_only_as_measured_on_the_ground(
    feet: str | None, is_measured: bool, severities: list[str]
) -> None:
    facts = with_limit(LimitFact.WATER_DISTANCE, Comparison.AT_LEAST, "25")
    conditions = Conditions(
        water_distance_ft=None if feet is None else d(feet),
        water_measured_on=DAY if is_measured else None,
    )
    found = judged(LimitFact.WATER_DISTANCE, facts, replace(USE, conditions=conditions))
    assert sorted(one.severity for one in found) == severities
    asks = [one for one in found if one.severity == "warn"]
    assert all("easure it" in one.to_do for one in asks)


def test_unverified_limits_warn_only() -> None:
    facts = with_limit(LimitFact.WIND, Comparison.AT_MOST, "5", Severity.WARN)
    use = replace(USE, conditions=WEATHER)
    assert only("wind", facts, use).severity == Severity.WARN
    assert only("wind", facts, use).sentence == "Wind 10 mph, most 5."


def test_a_limit_that_is_not_judged_says_so() -> None:
    facts = with_limit(LimitFact.WIND, Comparison.FORBIDDEN, None)
    assert only("wind", facts).severity == Severity.WARN
