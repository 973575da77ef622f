"""The register is entered, corrected, voided and renewed; nothing is changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.http import Http404

from accounts.models import (
    AuditEvent,
    Branch,
    ContinuingEducation,
    FirmPaper,
    Person,
    TrainingRecord,
)
from accounts.permissions import Role
from accounts.rules.register_entries import (
    CreditEntry,
    CycleEntry,
    FirmPaperEntry,
    TrainingEntry,
)
from accounts.rules.training import Training
from accounts.selectors.register import register_lines, trainings_of
from accounts.services.register import (
    add_credits,
    add_cycle,
    add_firm_paper,
    add_training,
    correct_paper,
    renew_firm_paper,
    void_paper,
)
from tests.factories import make_person
from tests.papers import make_cycle, make_firm_paper, make_training
from tests.refusing import refused

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
TODAY = NOW.date()
TRAINING = TrainingEntry("training", date(2026, 3, 2), "Course", "Trainer", "Certified OH 1")
CREDIT = CreditEntry("OH", "10a", Decimal(2), date(2026, 3, 2), "Course", "Provider", "CE-1")
CYCLE = CycleEntry("OH", "10a", date(2024, 10, 1), date(2027, 1, 31), Decimal(5))
PAPER = FirmPaperEntry("liability", "P-1", "Insurer", date(2026, 1, 1), date(2026, 12, 31), 10**6)


def test_training_is_entered_with_what_the_rule_asks_for(
    office: Person, technician: Person
) -> None:
    row = add_training(person_id=technician.pk, entry=TRAINING, by=office, now=NOW)
    assert trainings_of(technician.pk) == (Training(date(2026, 3, 2), date(2027, 3, 2)),)
    assert (row.created_by, row.created_at) == (office, NOW)
    event = AuditEvent.objects.get(act="trainingrecord_added")
    assert event.thing == f"accounts.trainingrecord:{row.pk}"


def test_a_correction_stands_in_the_place_of_the_old(office: Person, technician: Person) -> None:
    old = add_training(person_id=technician.pk, entry=TRAINING, by=office, now=NOW)
    right = replace(TRAINING, met_on=date(2026, 4, 2))
    row = correct_paper(
        table="training", paper_id=old.pk, entry=right, reason="Wrong month", by=office, now=NOW
    )
    assert trainings_of(technician.pk) == (Training(date(2026, 4, 2), date(2027, 4, 2)),)
    old.refresh_from_db()
    assert (row.supersedes, row.reason, old.met_on) == (old, "Wrong month", date(2026, 3, 2))
    with pytest.raises(Http404):  # what is superseded is not corrected again
        correct_paper(
            table="training", paper_id=old.pk, entry=right, reason="Again", by=office, now=NOW
        )


def test_a_voided_entry_never_counted(office: Person, technician: Person) -> None:
    old = add_training(person_id=technician.pk, entry=TRAINING, by=office, now=NOW)
    with refused("missing", "reason"):
        void_paper(table="training", paper_id=old.pk, reason=" ", by=office, now=NOW)
    void_paper(table="training", paper_id=old.pk, reason="Somebody else's", by=office, now=NOW)
    assert trainings_of(technician.pk) == ()
    assert TrainingRecord.objects.count() == 2


def test_a_certificate_counts_once_in_a_category(office: Person, technician: Person) -> None:
    first = add_credits(person_id=technician.pk, entry=CREDIT, by=office, now=NOW)
    with refused("entered", "evidence_number"):
        again = replace(CREDIT, evidence_number="ce-1", category="10A")
        add_credits(person_id=technician.pk, entry=again, by=office, now=NOW)
    add_credits(person_id=technician.pk, entry=replace(CREDIT, category="8"), by=office, now=NOW)
    correct_paper(
        table="education",
        paper_id=first.pk,
        entry=replace(CREDIT, credits=Decimal("1.5")),
        reason="Half a course",
        by=office,
        now=NOW,
    )
    counted = ContinuingEducation.objects.filter(superseded_by=None)
    assert sorted(counted.values_list("category", "credits")) == [
        ("10a", Decimal("1.5")),
        ("8", Decimal(2)),
    ]


def test_a_cycle_warns_of_missing_credits_until_they_are_entered(
    office: Person, technician: Person
) -> None:
    add_cycle(person_id=technician.pk, entry=CYCLE, by=office, now=NOW)
    add_credits(person_id=technician.pk, entry=CREDIT, by=office, now=NOW)
    (line,) = [one for one in register_lines(office, TODAY) if one.kind == "education"]
    assert line.short == "3 credits of 5 credits missing"
    more = replace(CREDIT, credits=Decimal(3), evidence_number="CE-2")
    add_credits(person_id=technician.pk, entry=more, by=office, now=NOW)
    assert [one for one in register_lines(office, TODAY) if one.kind == "education"] == []


def test_a_renewed_paper_keeps_its_days_and_warns_no_more(office: Person) -> None:
    old = add_firm_paper(branch_id=office.branch_id, entry=PAPER, by=office, now=NOW)
    with refused("term", "ends_on"):
        renew_firm_paper(paper_id=old.pk, entry=PAPER, by=office, now=NOW)
    new = replace(PAPER, starts_on=date(2027, 1, 1), ends_on=date(2027, 12, 31))
    renewal = renew_firm_paper(paper_id=old.pk, entry=new, by=office, now=NOW)
    assert [one.until for one in register_lines(office, TODAY)] == [date(2027, 12, 31)]
    with refused("renewed"):
        renew_firm_paper(paper_id=old.pk, entry=new, by=office, now=NOW)
    # a renewal that never was gives the warning back
    void_paper(table="firm", paper_id=renewal.pk, reason="Not issued", by=office, now=NOW)
    assert [one.until for one in register_lines(office, TODAY)] == [date(2026, 12, 31)]


def test_a_corrected_renewal_still_renews(office: Person) -> None:
    old = make_firm_paper(office.branch, date(2026, 1, 1), ends_on=date(2026, 12, 31))
    new = replace(PAPER, starts_on=date(2027, 1, 1), ends_on=date(2027, 12, 31))
    renewal = renew_firm_paper(paper_id=old.pk, entry=new, by=office, now=NOW)
    correct_paper(
        table="firm",
        paper_id=renewal.pk,
        entry=replace(new, number="P-2"),
        reason="Number",
        by=office,
        now=NOW,
    )
    assert [one.what for one in register_lines(office, TODAY)] == ["Liability insurance P-2"]


def test_the_technician_enters_nothing(technician: Person) -> None:
    with refused("not_permitted"):
        add_training(person_id=technician.pk, entry=TRAINING, by=technician, now=NOW)
    with refused("not_permitted"):
        add_firm_paper(branch_id=technician.branch_id, entry=PAPER, by=technician, now=NOW)


def test_another_branch_is_not_there(office: Person, branch_penn: Branch) -> None:
    far = make_person([Role.TECHNICIAN], branch_penn)
    paper = make_firm_paper(branch_penn, TODAY)
    with pytest.raises(Http404):
        add_cycle(person_id=far.pk, entry=CYCLE, by=office, now=NOW)
    with pytest.raises(Http404):
        renew_firm_paper(paper_id=paper.pk, entry=PAPER, by=office, now=NOW)
    with pytest.raises(Http404):
        void_paper(
            table="training", paper_id=make_training(far, TODAY).pk, reason="x", by=office, now=NOW
        )
    with pytest.raises(Http404):
        void_paper(table="passport", paper_id=1, reason="x", by=office, now=NOW)


@pytest.mark.parametrize(
    "wrong",
    [
        {"reason": "Without another row"},
        {"is_void": True},
        {"ends_on": date(2026, 1, 1)},
    ],
)
def test_the_database_refuses_half_a_correction(
    branch_ohio: Branch, wrong: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        make_firm_paper(branch_ohio, TODAY, **wrong)
    assert not FirmPaper.objects.exists()


def test_a_row_is_superseded_once(technician: Person) -> None:
    old = make_cycle(technician, TODAY)
    make_cycle(technician, TODAY, supersedes=old, reason="Wrong")
    with pytest.raises(IntegrityError), transaction.atomic():
        make_cycle(technician, TODAY, supersedes=old, reason="Wrong again")
