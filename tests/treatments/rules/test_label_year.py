"""Product on an area in a year, and a label nobody verified; label data is invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import Amount
from tests.treatments.rules.label_cases import LABEL, USE, d, judged, only
from treatments.rules.label_checks import LabelLimit, ProposedUse
from treatments.rules.products import Comparison, LimitFact, Severity

MOST = LabelLimit(
    LimitFact.PRODUCT_PER_AREA_YEAR, Comparison.AT_MOST, d("4"), unit="fl_oz", clause="p. 4"
)
FACTS = replace(LABEL, limits=(MOST,))
NEXT = Decimal("0.000001")


def before(amount: str, unit: str = "fl_oz") -> ProposedUse:
    """1.08 fl oz now on 1,080 sq ft, and what was put there earlier in the year."""
    return replace(USE, product_this_year=Amount(d(amount), unit))


def test_equal_to_the_most_in_a_year_passes_and_above_is_refused() -> None:
    """4 fl oz on 1,000 sq ft are 4.32 fl oz on 1,080: 3.24 before and 1.08 now."""
    at_most = only("product_year", FACTS, before("3.24"))
    assert at_most.severity == Severity.NOTE
    assert at_most.sentence == "4 fl oz of product on 1,000 sq ft this year, most 4"
    assert only("product_year", FACTS, before("3.2401")).severity == Severity.REFUSE
    unverified = replace(LABEL, limits=(replace(MOST, severity=Severity.WARN),))
    assert only("product_year", unverified, before("3.2401")).severity == Severity.WARN


@given(st.decimals("0.1", "50", places=3))
def test_the_next_amount_above_the_most_fails(area_thousands: Decimal) -> None:
    """A total equal to the maximum passes and the next representable amount above fails."""
    zone = replace(USE.zones[0], area=Amount(area_thousands * 1000, "ft2"))
    now = replace(USE, zones=(zone,), product=Amount(area_thousands, "fl_oz"))
    full = replace(now, product_this_year=Amount(area_thousands * 3, "fl_oz"))
    over = replace(now, product_this_year=Amount(area_thousands * 3 + NEXT, "fl_oz"))
    assert only("product_year", FACTS, full).severity == Severity.NOTE
    assert only("product_year", FACTS, over).severity == Severity.REFUSE


def test_an_unknown_year_asks_and_another_kind_of_unit_is_named() -> None:
    assert only("product_year", FACTS, USE).to_do == "Add it up by hand."
    dry = replace(before("1", "oz_wt"), product=Amount(d("1"), "oz_wt"))
    assert "one does not turn into the other" in only("product_year", FACTS, dry).sentence


def test_history_is_asked_for_when_the_year_matters() -> None:
    bare = replace(FACTS, min_interval_days=None, uses_per_year=None)
    known = replace(before("0"), history_known_since=USE.on)
    assert only("history", bare, known).severity == Severity.WARN
    assert judged("history", replace(bare, limits=()), known) == []


def test_a_label_that_nobody_verified_warns() -> None:
    found = only("unverified", replace(LABEL, is_verified=False))
    assert (found.severity, found.clause) == (Severity.WARN, LABEL.clause)
    assert judged("unverified", LABEL) == []
