"""Asking and signing: who may, once, for which use; what the check and the record then say."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from django.http import Http404

from accounts.models import Branch, OpenItem, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import make_license, make_person, make_pest
from tests.treatments.conftest import NOW, House
from tests.treatments.test_checks import ask, codes
from treatments.models import LogEntry, UnlistedUseDecision
from treatments.services.decisions import ask_unlisted_use, decide_unlisted_use, send_to_office
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
BEFORE = NOW - timedelta(hours=1)


def question(house: House, **changes: Any) -> UnlistedUseDecision:
    facts: dict[str, Any] = {
        "property_id": house.place.pk,
        "label_use_id": house.use.pk,
        "method": "spot",
        "pest_ids": [house.pest.pk],
        "by": house.technician,
    }
    return ask_unlisted_use(**(facts | changes))


def sign(asked: UnlistedUseDecision, by: Person, **changes: Any) -> UnlistedUseDecision:
    facts: dict[str, Any] = {
        "question_id": asked.pk,
        "is_allowed": True,
        "reason": "Read p. 3.",
        "by": by,
        "now": BEFORE,
    }
    return decide_unlisted_use(**(facts | changes))


def test_a_signed_yes_passes_the_check(house: House) -> None:
    assert "method" in codes(ask(house, method="spot"), "warn")
    done = sign(question(house), house.technician)
    assert (done.license_number, done.license_state) == (
        house.technician.licenses.get().number,
        "OH",
    )
    found = ask(house, method="spot")
    assert "method" in codes(found, "note")
    assert found.is_allowed


def test_a_signed_no_refuses_and_a_record_all_the_same_is_a_violation(house: House) -> None:
    sign(question(house), house.technician, is_allowed=False)
    assert codes(ask(house, method="spot"), "refuse") == {"method"}
    done = record_application(
        application=house.application(method="spot"), by=house.technician, now=NOW
    )
    assert {one.code: one.severity for one in done.judgements}["method"] == "violation"


def test_a_record_without_a_decision_keeps_the_warning(house: House) -> None:
    question(house)
    done = record_application(
        application=house.application(method="spot"), by=house.technician, now=NOW
    )
    assert {one.code: one.severity for one in done.judgements}["method"] == "warn"


def test_the_record_names_the_license_and_the_log_no_person(house: House) -> None:
    sign(question(house), house.technician, reason="Asked by Marta Ellwood.")
    done = record_application(
        application=house.application(method="spot"), by=house.technician, now=NOW
    )
    said = next(one for one in done.judgements if one.code == "method")
    assert said.severity == "note"
    assert house.technician.licenses.get().number in said.sentence
    leaf = bytes(LogEntry.objects.get(record=done.record).leaf)
    assert b"Terry" not in leaf
    assert b"Marta" not in leaf


def test_what_is_signed_after_the_work_does_not_count_for_it(house: House) -> None:
    sign(question(house), house.technician, now=NOW)  # it was over at 2:44 PM
    done = record_application(
        application=house.application(method="spot"), by=house.technician, now=NOW
    )
    assert {one.code: one.severity for one in done.judgements}["method"] == "warn"


def test_a_decision_is_for_its_visit_or_its_day(house: House) -> None:
    sign(question(house, visit_ref="V-1"), house.technician)
    assert "method" in codes(ask(house, method="spot", visit_ref="V-1"), "note")
    assert "method" in codes(ask(house, method="spot", visit_ref="V-2"), "warn")
    sign(question(house), house.technician)
    assert "method" in codes(ask(house, method="spot", visit_ref="V-2"), "note")
    tomorrow = NOW.date() + timedelta(days=1)
    assert "method" in codes(ask(house, method="spot", on=tomorrow), "warn")


def test_pests_that_are_not_named_are_decided_by_name(house: House) -> None:
    fly = make_pest("Cluster fly", "flies")
    both = [house.pest.pk, fly.pk]
    asked = question(house, method="perimeter_band", pest_ids=both)
    assert asked.pests == ["Cluster fly"]
    sign(asked, house.technician)
    assert "pest" not in codes(ask(house, pest_ids=both), "warn", "refuse")
    more = [*both, make_pest("House fly", "flies").pk]
    assert "pest" in codes(ask(house, pest_ids=more), "warn")


@pytest.mark.parametrize(
    "license",
    [
        {"kind": "registered_technician"},
        {"state": "PA"},
        {"expires_on": (BEFORE - timedelta(days=1)).date()},
    ],
)
def test_only_the_certified_of_the_state_on_the_day(house: House, license: dict[str, Any]) -> None:
    house.technician.licenses.update(**license)
    asked = question(house)
    with pytest.raises(Refused) as refused:
        sign(asked, house.technician)
    assert refused.value.code == "not_certified"
    asked.refresh_from_db()
    assert asked.decided_at is None


def test_the_office_signs_with_a_license_and_the_item_closes(house: House, office: Person) -> None:
    house.technician.licenses.update(kind="registered_technician")
    asked = question(house)
    send_to_office(question=asked, by=house.technician)
    send_to_office(question=question(house), by=house.technician)  # the same is asked once
    item = OpenItem.objects.get(code="unlisted_use")
    assert "Terry Technician asks: Spot, at 118 Sluice Lane" in item.sentence
    with pytest.raises(Refused):
        sign(asked, office)
    make_license(office)
    sign(asked, office)
    item.refresh_from_db()
    assert item.closed_note == "Allowed by Olive Office."


def test_the_same_decision_sent_again_is_the_first_answer(house: House, office: Person) -> None:
    """A phone sends twice: same words by the same person change nothing, any other is refused."""
    make_license(office)
    done = sign(question(house), house.technician)
    leaves, later = LogEntry.objects.count(), NOW + timedelta(hours=1)
    again = sign(done, house.technician, now=later)
    assert (again.pk, again.decided_at, again.decided_by) == (done.pk, BEFORE, house.technician)
    for by, changes in (
        (house.technician, {"is_allowed": False}),
        (house.technician, {"reason": "Read p. 4."}),
        (office, {}),
    ):
        with pytest.raises(Refused, match="decided already"):
            sign(done, by, now=later, **changes)
    done.refresh_from_db()
    assert (done.decided_at, done.reason, done.is_allowed) == (BEFORE, "Read p. 3.", True)
    assert LogEntry.objects.count() == leaves


def test_a_decision_is_made_once_and_never_changed(house: House) -> None:
    done = sign(question(house), house.technician)
    with pytest.raises(Refused) as refused:
        sign(done, house.technician, is_allowed=False)
    assert refused.value.code == "decided"
    rows = UnlistedUseDecision.objects.filter(pk=done.pk)
    for attack in (lambda: rows.update(is_allowed=False), rows.delete):
        with pytest.raises(DatabaseError), transaction.atomic():
            attack()
    with pytest.raises(IntegrityError), transaction.atomic():
        waits = question(house)
        UnlistedUseDecision.objects.filter(pk=waits.pk).update(is_allowed=True)  # unsigned


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"method": "perimeter_band"}, "nothing_to_decide"),
        ({"method": "helicopter"}, "direction"),
        ({"label_use_id": 99_999_999}, "direction"),
        ({"pest_ids": [99_999_999]}, "pests"),
    ],
)
def test_what_cannot_be_asked(house: House, changes: dict[str, Any], code: str) -> None:
    with pytest.raises(Refused) as refused:
        question(house, **changes)
    assert refused.value.code == code


def test_a_reason_is_needed(house: House) -> None:
    with pytest.raises(Refused) as refused:
        sign(question(house), house.technician, reason=" ")
    assert refused.value.facts["field"] == "reason"


def test_another_branch_does_not_decide(house: House, branch_penn: Branch) -> None:
    stranger = make_person([Role.OFFICE], branch_penn)
    make_license(stranger)
    with pytest.raises(Http404):
        sign(question(house), stranger)
