"""Licenses, restricted use and what the customer said; all invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from sites.rules.places import Place, PreferenceKind
from tests.treatments.rules.label_cases import (
    CERTIFIED,
    DAY,
    LABEL,
    TECHNICIAN,
    USE,
    ZONE,
    judged,
    only,
)
from treatments.rules.label_checks import (
    HardPreference,
    License,
    ProposedUse,
)
from treatments.rules.products import (
    Method,
    Severity,
)


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
    """40 CFR 171.201 (read): a noncertified applicator works under a certified supervisor."""
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
