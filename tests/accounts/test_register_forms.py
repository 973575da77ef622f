"""Entering the register in the browser: at the person's sheet and under firm papers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts.models import (
    Branch,
    ContinuingEducation,
    EducationCycle,
    FirmPaper,
    Person,
    TrainingRecord,
)
from tests.accounts.pages import ask, errors, send, typed, words
from tests.papers import make_credits, make_cycle, make_firm_paper, make_training

pytestmark = pytest.mark.django_db
TRAINING = {
    "basis": "training",
    "title": "Restricted use under supervision",
    "met_on": "2026-03-02",
    "trainer": "Invented Trainer",
    "trainer_qualification": "Certified, OH DEMO-1",
    "topics": "Label, equipment, spills",
}
CREDITS = {
    "course": "Course",
    "provider": "Provider",
    "evidence_number": "CE-1",
    "taken_on": "2026-03-02",
    "state": "oh",
    "category": "10a",
    "credits": "2.5",
}
CYCLE = {
    "state": "OH",
    "category": "",
    "starts_on": "2026-01-01",
    "ends_on": "2028-12-31",
    "credits_needed": "5",
}
PAPER = {
    "kind": "liability",
    "number": "P-1",
    "issuer": "Insurer",
    "insured_dollars": "1000000",
    "starts_on": "2026-01-01",
    "ends_on": "2028-12-31",
}


@pytest.mark.parametrize(
    ("table", "fields", "model"),
    [
        ("training", TRAINING, TrainingRecord),
        ("education", CREDITS, ContinuingEducation),
        ("cycle", CYCLE, EducationCycle),
    ],
)
def test_entered_corrected_voided(
    office: Person, technician: Person, table: str, fields: dict[str, str], model: type
) -> None:
    answer = send(office, "paper_add", technician.pk, table, **fields)
    assert answer.headers["Location"] == technician.get_absolute_url()
    row = model.objects.get()
    shown = ask(office, "paper_correct", table, row.pk)
    assert not set(fields) - set(shown.context["form"].fields)
    assert set(errors(send(office, "paper_correct", table, row.pk, **fields))) == {"reason"}
    answer = send(office, "paper_correct", table, row.pk, **fields, reason="Wrong number")
    assert answer.headers["Location"] == technician.get_absolute_url()
    newest = model.objects.latest("pk")
    assert send(office, "paper_void", table, newest.pk, reason="Not theirs").status_code == 302
    sheet = words(ask(office, "person", technician.pk))
    assert "2 corrected or voided" in sheet
    assert "Wrong number" in sheet and "Not theirs" in sheet


def test_the_sheet_shows_training_and_credits(office: Person, technician: Person) -> None:
    send(office, "paper_add", technician.pk, "training", **TRAINING)
    send(office, "paper_add", technician.pk, "education", **CREDITS)
    send(office, "paper_add", technician.pk, "cycle", **CYCLE)
    sheet = words(ask(office, "person", technician.pk))
    assert "Restricted use under supervision" in sheet and "Mar 2, 2027" in sheet
    assert "not signed" in sheet
    assert "2.5 of 5 credits" in sheet and "2.5 credits missing" in sheet
    assert "certificate CE-1" in sheet


def test_nothing_typed_is_lost(office: Person, technician: Person) -> None:
    later = (timezone.now().date() + timedelta(days=3)).isoformat()
    wrong = TRAINING | {"met_on": later}
    answer = send(office, "paper_add", technician.pk, "training", **wrong)
    assert set(errors(answer)) == {"met_on"}
    assert typed(answer, "topics") == "Label, equipment, spills"
    assert set(errors(send(office, "paper_add", technician.pk, "education"))) == set(CREDITS)
    assert not TrainingRecord.objects.exists()


@pytest.mark.parametrize("table", ["firm", "passport"])
def test_a_person_has_no_such_table(office: Person, technician: Person, table: str) -> None:
    assert ask(office, "paper_add", technician.pk, table).status_code == 404
    assert ask(office, "paper_void", "passport", 1).status_code == 404
    assert ask(office, "paper_correct", "passport", 1).status_code == 404


def test_a_firm_paper_is_entered_renewed_and_corrected(office: Person) -> None:
    assert "No business license and no insurance" in words(ask(office, "firm_papers"))
    answer = send(office, "firm_paper_add", **PAPER, branch=office.branch_id)
    assert answer.headers["Location"] == reverse("firm_papers")
    old = FirmPaper.objects.get()
    page = words(ask(office, "firm_papers"))
    assert "Liability insurance P-1" in page and "$1,000,000" in page
    assert typed(ask(office, "firm_paper_renew", old.pk), "number") == "P-1"
    early = errors(send(office, "firm_paper_renew", old.pk, **PAPER))
    assert list(early) == ["ends_on"]
    renewed = PAPER | {"starts_on": "2029-01-01", "ends_on": "2029-12-31", "number": "P-2"}
    assert send(office, "firm_paper_renew", old.pk, **renewed).status_code == 302
    page = words(ask(office, "firm_papers"))
    assert "renewed" in page and "not yet in force" in page
    newest = FirmPaper.objects.latest("pk")
    fixed = renewed | {"number": "P-3", "reason": "Typing error"}
    assert send(office, "paper_correct", "firm", newest.pk, **fixed).status_code == 302
    assert "Typing error" in words(ask(office, "firm_papers"))


def test_the_office_enters_no_paper_for_another_branch(office: Person, branch_penn: Branch) -> None:
    answer = send(office, "firm_paper_add", **PAPER, branch=branch_penn.pk)
    assert set(errors(answer)) == {"branch"}
    make_firm_paper(branch_penn, date(2026, 1, 1), number="FAR")
    assert "FAR" not in words(ask(office, "firm_papers"))


def test_the_sheet_asks_the_same_for_1_and_10_entries(
    office: Person, technician: Person, count_of: Callable[[Person, str], int]
) -> None:
    day = date(2026, 3, 2)

    def enter() -> None:
        make_training(technician, day)
        make_cycle(technician, day)
        make_credits(technician, day)
        make_firm_paper(office.branch, day)

    enter()
    sheets = [reverse("person", args=[technician.pk]), reverse("firm_papers")]
    few = [count_of(office, url) for url in sheets]
    for _ in range(9):
        enter()
    assert [count_of(office, url) for url in sheets] == few
