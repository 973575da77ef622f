"""Licenses, restricted use and what the customer said; all invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from accounts.rules.training import Training
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
    allowed,
    check,
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


SUPERVISED = replace(USE, license=TECHNICIAN, supervisor=CERTIFIED)
RESTRICTED = replace(LABEL, is_restricted_use=True)
A_YEAR_AGO = date(DAY.year - 1, DAY.month, DAY.day)


@pytest.mark.parametrize(
    ("trainings", "severity", "says"),
    [
        # 40 CFR 171.201(e), read: a qualification record must exist
        ((), Severity.REFUSE, "There is no training record of you from before this day."),
        ((Training(DAY + timedelta(1), date(2027, 1, 1)),), Severity.REFUSE, "no training record"),
        ((Training(DAY, date(2027, 9, 10)),), Severity.NOTE, "Trained on Sep 10, 2026"),
        # within the previous twelve months: from memory, unverified, so it only warns
        ((Training(A_YEAR_AGO, DAY),), Severity.NOTE, "Trained on Sep 10, 2025"),
        (
            (Training(A_YEAR_AGO - timedelta(1), date(2099, 1, 1)),),
            Severity.WARN,
            "Your training counted through Sep 9, 2026.",
        ),
        (
            (Training(A_YEAR_AGO, DAY - timedelta(1)),),
            Severity.WARN,
            "Your training counted through Sep 9, 2026.",
        ),
    ],
)
def test_training_for_restricted_use(
    trainings: tuple[Training, ...], severity: Severity, says: str
) -> None:
    found = only("training", RESTRICTED, replace(SUPERVISED, trainings=trainings))
    assert found.severity == severity and says in found.sentence
    assert found.clause == "40 CFR 171.201, qualification record"


@pytest.mark.parametrize("before_mixing", [True, False])
def test_restricted_use_by_a_technician_without_supervisor_fails(before_mixing: bool) -> None:
    """Audit check A04: by a noncertified person without supervisor or current training record."""
    alone = replace(SUPERVISED, supervisor=None, trainings=(Training(DAY, DAY),))
    untrained = replace(SUPERVISED, trainings=())
    stop = Severity.REFUSE if before_mixing else Severity.VIOLATION
    for use, code in ((alone, "restricted"), (untrained, "training")):
        found = check(RESTRICTED, use, before_mixing=before_mixing)
        assert not allowed(found)
        assert [one.severity for one in found if one.code == code] == [stop]


def test_training_is_asked_of_nobody_else() -> None:
    assert judged("training", LABEL, SUPERVISED) == []
    assert judged("training", RESTRICTED, replace(SUPERVISED, license=CERTIFIED)) == []


def test_the_category_of_the_supervisor_warns() -> None:
    """Certified in the category of the job: 40 CFR 171.201, from memory, unverified."""
    wanted = replace(SUPERVISED, categories=frozenset({"10a"}))
    assert only("supervisor_category", RESTRICTED, wanted).severity == Severity.WARN
    held = replace(wanted, supervisor=replace(CERTIFIED, categories=frozenset({"10a", "8"})))
    assert judged("supervisor_category", RESTRICTED, held) == []
    assert judged("supervisor_category", RESTRICTED, SUPERVISED) == []


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
