"""One case for every rule of the label check, in the order they are promised.

Two of them are judged elsewhere: whether area rate and dilution agree (mixing), and whether
protective equipment was confirmed (the record).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from sites.rules.places import PestGroup, Place, PreferenceKind, Surface
from sites.rules.units import Amount
from tests.treatments.rules.label_cases import CERTIFIED, DAY, LABEL, USE, d, in_zone
from tests.treatments.rules.label_words import PASSED, WORDS
from treatments.rules.label_checks import (
    Conditions,
    EarlierUse,
    HardPreference,
    IngredientUse,
    LabelFacts,
    LabelLimit,
    ProposedUse,
    check,
)
from treatments.rules.label_checks.facts import CarriedLot
from treatments.rules.products import Comparison, LimitFact, Method, Severity

MOST, LEAST, NO, MUST = Comparison.AT_MOST, Comparison.AT_LEAST, *list(Comparison)[2:]
REFUSED, WARNED = Severity.REFUSE, Severity.WARN


def limited(
    fact: LimitFact, comparison: Comparison, limit: str = "0", unit: str = ""
) -> LabelFacts:
    return replace(LABEL, limits=(LabelLimit(fact, comparison, d(limit), unit=unit),))


def weather(**read: object) -> ProposedUse:
    return replace(USE, conditions=replace(Conditions(), **read))


EAVE = in_zone(place=Place.EAVE_SOFFIT)
SLAB = in_zone(surface=Surface.IMPERVIOUS)
SPOT = replace(in_zone(spot_sq_ft=d("5")), method=Method.SPOT)
MICE = {"House mouse": PestGroup.RODENTS}
ROACH = {"German cockroach": PestGroup.COCKROACHES}
AGAIN = EarlierUse(date(2026, 6, 1), frozenset(ROACH), frozenset({"3A"}), False, True)
WISH = HardPreference(PreferenceKind.BAIT_ONLY, "Pat", DAY)
OVER = IngredientUse("demothrin", d("1"), d("1"))
L = LimitFact
RULES: tuple[tuple[str, LabelFacts, ProposedUse, str, Severity], ...] = (
    ("use site", LABEL, in_zone(place=Place.ATTIC), "place", REFUSED),
    ("method prohibited", LABEL, replace(USE, method=Method.SPACE), "method", REFUSED),
    ("method not mentioned", LABEL, replace(USE, method=Method.DUST), "method", WARNED),
    ("pest not named", LABEL, replace(USE, pests={"Fly": PestGroup.FLIES}), "pest", WARNED),
    ("customer's wish", LABEL, replace(USE, preferences=(WISH,)), "preference", REFUSED),
    ("beneficial", LABEL, replace(USE, beneficial=frozenset(USE.pests)), "species", WARNED),
    ("above the rate", LABEL, replace(USE, product=Amount(d("1.09"), "fl_oz")), "rate", REFUSED),
    ("below the rate", LABEL, replace(USE, product=Amount(d("0.1"), "fl_oz")), "rate", WARNED),
    ("finished spray", LABEL, replace(USE, finished=Amount(d("9"), "gal")), "volume", WARNED),
    ("interval", LABEL, in_zone(last_used_on=date(2026, 9, 1)), "interval", REFUSED),
    ("interval of the ingredient", LABEL, in_zone(ingredient_used_on=DAY), "interval", WARNED),
    ("booked too soon", LABEL, in_zone(booked_on=(DAY,)), "interval", WARNED),
    ("uses a year", LABEL, in_zone(uses_this_year=4), "uses", REFUSED),
    (
        "uses planned",
        LABEL,
        in_zone(uses_this_year=3, booked_on=(date(2026, 12, 9),)),
        "uses",
        WARNED,
    ),
    (
        "product a year",
        limited(L.PRODUCT_PER_AREA_YEAR, MOST, "1", "fl_oz"),
        replace(USE, product_this_year=Amount(d("1"), "fl_oz")),
        "product_year",
        REFUSED,
    ),
    (
        "ingredient a year",
        limited(L.INGREDIENT_PER_ACRE_YEAR, MOST, "1"),
        replace(USE, ingredients=(OVER,)),
        "ingredient",
        REFUSED,
    ),
    ("height", limited(L.HEIGHT_UP, MOST, "2.9"), USE, "height_up", REFUSED),
    ("width", limited(L.WIDTH_OUT, MOST, "2.9"), USE, "width_out", REFUSED),
    ("impervious", limited(L.IMPERVIOUS_HORIZONTAL, NO), SLAB, "impervious_horizontal", REFUSED),
    ("eaves in rain", limited(L.RAIN_PROTECTED_ONLY, MUST), EAVE, "rain_protected_only", REFUSED),
    ("spot", limited(L.SPOT_SIZE, MOST, "2"), SPOT, "spot_size", REFUSED),
    ("wind", limited(L.WIND, MOST, "10"), weather(wind_mph=d("11")), "wind", REFUSED),
    (
        "rain",
        limited(L.RAIN_HOURS, LEAST, "24"),
        replace(USE, answers={"rain_hours": "no"}),
        "rain_hours",
        REFUSED,
    ),
    (
        "cold",
        limited(L.TEMPERATURE_MIN, LEAST, "50"),
        weather(temperature_f=d("49")),
        "temperature_min",
        REFUSED,
    ),
    (
        "heat",
        limited(L.TEMPERATURE_MAX, MOST, "90"),
        weather(temperature_f=d("91")),
        "temperature_max",
        REFUSED,
    ),
    (
        "water",
        limited(L.WATER_DISTANCE, LEAST, "25"),
        weather(water_distance_ft=d("24"), water_measured_on=DAY),
        "water_distance",
        REFUSED,
    ),
    (
        "water drawn",
        limited(L.WATER_DISTANCE, LEAST, "25"),
        weather(water_distance_ft=d("99")),
        "water_distance",
        WARNED,
    ),
    (
        "space",
        limited(L.SPACE_MAX, MOST, "5"),
        replace(USE, space=Amount(d("6"), "ft3")),
        "space_max",
        REFUSED,
    ),
    (
        "food area",
        limited(L.FOOD_AREA_CLOSED, MUST),
        replace(USE, answers={"food_area_closed": "no"}),
        "food_area_closed",
        REFUSED,
    ),
    (
        "re-entry and occupants",
        limited(L.REENTRY_UNDERSTOOD, MUST),
        replace(USE, answers={"reentry_understood": "no"}),
        "reentry_understood",
        REFUSED,
    ),
    ("restricted use", replace(LABEL, is_restricted_use=True), USE, "restricted", REFUSED),
    ("no license", LABEL, replace(USE, license=None), "license", REFUSED),
    ("license over", LABEL, replace(USE, on=date(2027, 3, 1)), "license", REFUSED),
    (
        "category",
        LABEL,
        replace(
            USE,
            license=CERTIFIED,
            categories=frozenset({"structural"}),
            category_clause="40 CFR 171.101, categories of applicators",
        ),
        "category",
        WARNED,
    ),
    (
        "label withdrawn",
        replace(LABEL, not_to_be_used_after=date(2026, 9, 9)),
        USE,
        "version",
        REFUSED,
    ),
    ("label unverified", replace(LABEL, is_verified=False), USE, "unverified", WARNED),
    (
        "product expired",
        LABEL,
        replace(USE, lots=(CarriedLot("L-1", "label of 2026", True, date(2026, 9, 9)),)),
        "lot_expired",
        WARNED,
    ),
    (
        "lot of another label",
        LABEL,
        replace(USE, lots=(CarriedLot("L-1", "label of 2025", False, None),)),
        "lot_label",
        WARNED,
    ),
    (
        "resistance",
        LABEL,
        replace(USE, pests=ROACH, irac_groups=frozenset({"3A"}), earlier=(AGAIN,)),
        "resistance",
        WARNED,
    ),
    (
        "repellent on bait",
        LABEL,
        replace(
            USE, irac_groups=frozenset({"3A"}), earlier=(replace(AGAIN, on=DAY, is_bait=True),)
        ),
        "bait",
        WARNED,
    ),
    ("bees", LABEL, replace(USE, has_bees=True), "bees", WARNED),
    (
        "rodent bait",
        LABEL,
        replace(USE, pests=MICE, method=Method.BAIT, answers={"traps_first": "no"}),
        "traps_first",
        WARNED,
    ),
    ("wall voids", LABEL, replace(USE, method=Method.VOID), "wall_void", WARNED),
    ("fogging", LABEL, replace(USE, method=Method.SPACE), "fogging", REFUSED),
    (
        "people out",
        LABEL,
        replace(USE, method=Method.VOID, answers={"people_out": "no"}),
        "people_out",
        REFUSED,
    ),
    ("older history", LABEL, replace(USE, history_known_since=DAY), "history", WARNED),
)


@pytest.mark.parametrize(
    ("facts", "use", "code", "severity"), [row[1:] for row in RULES], ids=[row[0] for row in RULES]
)
def test_every_rule_answers_with_its_clause(
    facts: LabelFacts, use: ProposedUse, code: str, severity: Severity
) -> None:
    found = [one for one in check(facts, use, before_mixing=True) if one.code == code]
    worst = [one for one in found if one.severity == severity]
    assert worst, found
    assert all(one.clause and one.to_do and one.sentence for one in worst)
    if severity == Severity.REFUSE:  # the same rule, judged after the fact
        after = {one.severity for one in check(facts, use, before_mixing=False) if one.code == code}
        assert Severity.VIOLATION in after and Severity.REFUSE not in after


def test_every_limit_of_a_label_is_judged_or_asked() -> None:
    for fact in LimitFact:
        facts = limited(fact, LEAST, "1", "fl_oz" if fact == L.PRODUCT_PER_AREA_YEAR else "")
        said = [one.sentence for one in check(facts, USE, before_mixing=True)]
        assert not any("not judged here" in sentence for sentence in said), fact


@pytest.mark.parametrize("row", RULES, ids=[row[0] for row in RULES])
def test_what_is_read_is_what_was_agreed(
    row: tuple[str, LabelFacts, ProposedUse, str, Severity],
) -> None:
    name, facts, use, code, severity = row
    found = check(facts, use, before_mixing=True)
    said = [one.whole for one in found if (one.code, one.severity) == (code, severity)]
    assert said == list(WORDS[name])


def test_what_passed_is_said_with_both_numbers() -> None:
    assert tuple(one.sentence for one in check(LABEL, USE, before_mixing=True)) == PASSED
