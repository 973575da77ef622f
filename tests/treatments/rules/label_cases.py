"""One invented direction and one use of it, to vary (99999-101 demo)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from sites.rules.places import PestGroup, Place, Surface
from sites.rules.units import Amount
from treatments.rules.label_checks import (
    Judgement,
    LabelFacts,
    LabelLimit,
    License,
    ProposedUse,
    ZoneUse,
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
