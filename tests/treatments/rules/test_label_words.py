"""What a technician reads in the finer cases, word for word; the plain ones: `test_label_rules`."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from sites.rules.places import PestGroup, Place, PreferenceKind, Surface
from sites.rules.units import Amount
from tests.treatments.rules.label_cases import DAY, LABEL, USE, d, in_zone
from tests.treatments.rules.label_words import FINER
from tests.treatments.rules.test_label_rules import (
    AGAIN,
    LEAST,
    MOST,
    NO,
    ROACH,
    L,
    limited,
    weather,
)
from treatments.rules.label_checks import (
    HardPreference,
    IngredientUse,
    LabelFacts,
    License,
    ProposedUse,
    check,
)
from treatments.rules.products import LicenseKind, Method, Severity

OWNER = License(LicenseKind.CERTIFIED, "C-1", "OH", date(2027, 2, 28), date(2024, 3, 1))
TECHNICIAN = replace(OWNER, kind=LicenseKind.REGISTERED_TECHNICIAN, number="T-9")
RESTRICTED = replace(LABEL, is_restricted_use=True)
FLY = {"Fly": PestGroup.FLIES}
A_YEAR, IN_ACRES = (
    limited(L.PRODUCT_PER_AREA_YEAR, MOST, "9", "fl_oz"),
    limited(L.INGREDIENT_PER_ACRE_YEAR, MOST, "90"),
)


def wish(kind: PreferenceKind, note: str = "", product: str = "") -> tuple[HardPreference, ...]:
    return (HardPreference(kind, "Pat", DAY, note, product),)


def under(supervisor: License | None) -> ProposedUse:
    return replace(USE, license=TECHNICIAN, supervisor=supervisor)


CASES: dict[str, tuple[LabelFacts, ProposedUse, str]] = {
    "not begun": (replace(LABEL, effective_on=date(2027, 1, 1)), USE, "version"),
    "last day": (replace(LABEL, not_to_be_used_after=DAY), USE, "version"),
    "only these pests": (replace(LABEL, only_these=True), replace(USE, pests=FLY), "pest"),
    "state refuses pests": (
        LABEL,
        replace(USE, pests=FLY, allows_unlisted_pest=Severity.REFUSE),
        "pest",
    ),
    "only these methods": (
        replace(LABEL, only_these=True),
        replace(USE, method=Method.FOAM),
        "method",
    ),
    "call first": (
        LABEL,
        replace(USE, preferences=wish(PreferenceKind.CALL_FIRST, "evenings")),
        "preference",
    ),
    "something": (LABEL, replace(USE, preferences=wish(PreferenceKind.OTHER)), "preference"),
    "some product": (
        LABEL,
        replace(USE, preferences=wish(PreferenceKind.PRODUCT_REFUSED)),
        "preference",
    ),
    "this product": (
        LABEL,
        replace(
            USE, preferences=wish(PreferenceKind.PRODUCT_REFUSED, "", LABEL.product_name.upper())
        ),
        "preference",
    ),
    "another product": (
        LABEL,
        replace(USE, preferences=wish(PreferenceKind.PRODUCT_REFUSED, "", "Another")),
        "preference",
    ),
    "nothing inside": (
        LABEL,
        replace(in_zone(place=Place.ATTIC), preferences=wish(PreferenceKind.NO_PESTICIDE_INSIDE)),
        "preference",
    ),
    "certified": (RESTRICTED, replace(USE, license=OWNER), "restricted"),
    "supervised": (RESTRICTED, under(OWNER), "restricted"),
    "supervisor not certified": (RESTRICTED, under(TECHNICIAN), "restricted"),
    "supervisor over": (
        RESTRICTED,
        under(replace(OWNER, expires_on=date(2026, 1, 1))),
        "restricted",
    ),
    "supervisor elsewhere": (RESTRICTED, under(replace(OWNER, state="PA")), "restricted"),
    "license begins": (
        LABEL,
        replace(USE, license=replace(OWNER, issued_on=date(2027, 1, 1))),
        "license",
    ),
    "license elsewhere": (LABEL, replace(USE, license=replace(OWNER, state="PA")), "license"),
    "ingredient not known": (
        IN_ACRES,
        replace(USE, ingredients=(IngredientUse("demothrin", d("1"), None),)),
        "ingredient",
    ),
    "no ingredient known": (IN_ACRES, USE, "ingredient"),
    "ingredient within": (
        IN_ACRES,
        replace(USE, ingredients=(IngredientUse("demothrin", d("0.01"), d("0.01")),)),
        "ingredient",
    ),
    "product not known": (A_YEAR, USE, "product_year"),
    "product within": (
        A_YEAR,
        replace(USE, product_this_year=Amount(d("1"), "fl_oz")),
        "product_year",
    ),
    "product of another kind": (
        limited(L.PRODUCT_PER_AREA_YEAR, MOST, "9", "oz_wt"),
        replace(USE, product_this_year=Amount(d("1"), "fl_oz")),
        "product_year",
    ),
    "over concrete": (
        limited(L.IMPERVIOUS_HORIZONTAL, NO),
        in_zone(is_over_impervious=True),
        "impervious_horizontal",
    ),
    "spot on concrete": (
        limited(L.IMPERVIOUS_HORIZONTAL, NO),
        replace(in_zone(surface=Surface.IMPERVIOUS), method=Method.SPOT),
        "impervious_horizontal",
    ),
    "water near": (
        limited(L.WATER_DISTANCE, LEAST, "25"),
        weather(water_distance_ft=d("30"), water_measured_on=DAY),
        "water_distance",
    ),
    "wind not measured": (limited(L.WIND, MOST, "10"), weather(), "wind"),
    "rate not measured": (LABEL, replace(USE, zones=()), "rate"),
    "too little spray": (LABEL, replace(USE, finished=Amount(d("0.5"), "gal")), "volume"),
    "another kind of amount": (LABEL, replace(USE, product=Amount(d("1"), "oz_wt")), "rate"),
    "not answered": (LABEL, replace(USE, method=Method.VOID), "people_out"),
    "answered": (
        LABEL,
        replace(USE, method=Method.VOID, answers={"people_out": "yes"}),
        "people_out",
    ),
    "group again, not indoors": (
        LABEL,
        replace(
            USE,
            irac_groups=frozenset({"3A"}),
            earlier=(replace(AGAIN, pests=frozenset(USE.pests)),),
        ),
        "resistance",
    ),
    "spray before bait": (
        LABEL,
        replace(USE, method=Method.BAIT, pests=ROACH, earlier=(replace(AGAIN, on=DAY),)),
        "bait",
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_each_is_said_as_agreed(name: str) -> None:
    facts, use, code = CASES[name]
    found = check(facts, use, before_mixing=True)
    said = [f"{one.severity}: {one.whole}" for one in found if one.code == code]
    assert said == list(FINER[name])
