"""Respirator papers: who enters them, what the person's sheet says."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.http import Http404
from django.utils import timezone

from accounts.models import AuditEvent, Branch, Person, RespiratorPaper
from accounts.permissions import Role
from accounts.rules.respirators import Papers, RespiratorKind, newest_of_each
from accounts.selectors.people import respirator_papers
from accounts.services.respirators import supersede_respirator_paper
from tests.accounts.pages import ask, codes, errors, send, typed, words
from tests.factories import make_person

pytestmark = pytest.mark.django_db
PAPERS = {
    "kind": "half_vapor",
    "respirator": "Demonstration H, medium",
    "medical_until": "2027-01-31",
    "fit_test_until": "2027-02-28",
    "cartridge_until": "2027-03-31",
}


def test_papers_are_the_offices_to_enter(
    manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    asking = [manager, office, technician, stranger, None]
    assert codes(asking, "respirator_add", technician.pk) == [200, 200, 403, 403, 302]


def test_a_person_of_another_branch_is_not_there(office: Person, branch_penn: Branch) -> None:
    far = make_person([Role.TECHNICIAN], branch_penn)
    assert send(office, "respirator_add", far.pk, **PAPERS).status_code == 404
    assert not RespiratorPaper.objects.exists()


def test_the_newest_papers_count(office: Person, technician: Person) -> None:
    assert respirator_papers(technician.pk) == ()
    for until in ("2026-12-01", "2027-03-31"):
        answer = send(
            office, "respirator_add", technician.pk, **PAPERS | {"cartridge_until": until}
        )
        assert answer.headers["Location"] == technician.get_absolute_url()
    newest = Papers(
        "Demonstration H, medium",
        date(2027, 1, 31),
        date(2027, 2, 28),
        date(2027, 3, 31),
        RespiratorKind.HALF_VAPOR,
    )
    assert newest_of_each(respirator_papers(technician.pk)) == (newest,)
    assert AuditEvent.objects.filter(act="respirator_paper_added").count() == 2


def test_the_sheet_says_whether_one_may_be_worn(office: Person, technician: Person) -> None:
    assert "No papers count" in words(ask(office, "person", technician.pk))
    today = timezone.now().date()
    later = (today + timedelta(days=60)).isoformat()
    send(
        office,
        "respirator_add",
        technician.pk,
        kind="half_vapor",
        respirator="Half-face",
        medical_until=later,
        fit_test_until=(today - timedelta(days=2)).isoformat(),
        cartridge_until=later,
    )
    sheet = words(ask(office, "person", technician.pk))
    assert "Not to be worn The fit test ran out on" in sheet
    assert "May be worn" not in sheet


def test_what_is_missing_stands_at_its_field(office: Person, technician: Person) -> None:
    answer = send(office, "respirator_add", technician.pk, respirator=" ", medical_until="soon")
    assert set(errors(answer)) == {
        "kind",
        "respirator",
        "medical_until",
        "fit_test_until",
    }


@pytest.mark.parametrize(
    ("kind", "cartridge_until"), [("half_vapor", ""), ("filtering_facepiece", "2027-03-31")]
)
def test_a_cartridge_day_goes_with_kinds_that_have_one(
    office: Person, technician: Person, kind: str, cartridge_until: str
) -> None:
    wrong = PAPERS | {"kind": kind, "cartridge_until": cartridge_until}
    answer = send(office, "respirator_add", technician.pk, **wrong)
    assert set(errors(answer)) == {"cartridge_until"}
    assert typed(answer, "respirator") == "Demonstration H, medium"  # nothing typed is lost
    assert not RespiratorPaper.objects.exists()


@pytest.fixture
def paper(office: Person, technician: Person) -> RespiratorPaper:
    send(office, "respirator_add", technician.pk, **PAPERS)
    return RespiratorPaper.objects.get()


def test_a_correction_supersedes_and_the_old_stays_readable(
    office: Person, technician: Person, paper: RespiratorPaper
) -> None:
    assert typed(ask(office, "respirator_correct", paper.pk), "kind") == "half_vapor"
    answer = send(
        office, "respirator_correct", paper.pk, **PAPERS | {"fit_test_until": "2027-02-20"}
    )
    assert answer.headers["Location"] == technician.get_absolute_url()
    (counted,) = respirator_papers(technician.pk)
    assert counted.fit_test_until == date(2027, 2, 20)
    paper.refresh_from_db()
    assert paper.fit_test_until == date(2027, 2, 28)
    sheet = words(ask(office, "person", technician.pk))
    assert "fit test until Feb 28, 2027" in sheet
    assert "Corrected" in sheet
    # what is superseded is corrected or ended no more
    assert send(office, "respirator_correct", paper.pk, **PAPERS).status_code == 404
    assert send(office, "respirator_end", paper.pk, reason="Wrong").status_code == 404


def test_papers_end_with_a_reason(
    office: Person, technician: Person, paper: RespiratorPaper
) -> None:
    assert set(errors(send(office, "respirator_end", paper.pk, reason=" "))) == {"reason"}
    send(office, "respirator_end", paper.pk, reason="Grew a beard; the seal no longer holds.")
    assert respirator_papers(technician.pk) == ()
    sheet = words(ask(office, "person", technician.pk))
    assert "No papers count" in sheet
    assert "Grew a beard; the seal no longer holds." in sheet
    assert AuditEvent.objects.filter(act="respirator_paper_ended").count() == 1


def test_the_clearance_of_the_newest_paper_is_proposed_for_the_next(
    office: Person, technician: Person, paper: RespiratorPaper
) -> None:
    shown = typed(ask(office, "respirator_add", technician.pk), "medical_until")
    assert shown == paper.medical_until


def test_nobody_elses_papers_are_changed(
    technician: Person, branch_penn: Branch, paper: RespiratorPaper
) -> None:
    far = make_person([Role.OFFICE], branch_penn)
    for name in ("respirator_correct", "respirator_end"):
        assert ask(far, name, paper.pk).status_code == 404
        assert ask(technician, name, paper.pk).status_code == 403


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_two_corrections_at_once_leave_one(
    office: Person, technician: Person, paper: RespiratorPaper
) -> None:
    new = {
        "kind": "half_vapor",
        "respirator": "Other",
        "medical_until": date(2027, 1, 1),
        "fit_test_until": date(2027, 1, 1),
        "cartridge_until": date(2027, 1, 1),
    }
    supersede_respirator_paper(paper_id=paper.pk, by=office, **new)
    with pytest.raises(Http404):
        supersede_respirator_paper(paper_id=paper.pk, by=office, **new)
    with pytest.raises(IntegrityError), transaction.atomic():
        RespiratorPaper.objects.create(person=technician, supersedes=paper, **new)
    with pytest.raises(IntegrityError), transaction.atomic():
        RespiratorPaper.objects.update(ended_reason="No day")
    assert len(respirator_papers(technician.pk)) == 1


def test_papers_from_before_get_the_kind_their_words_name(technician: Person) -> None:
    days = dict.fromkeys(("medical_until", "fit_test_until", "cartridge_until"), date(2027, 1, 1))
    for words_then in ("Half-face, organic vapor", "Half-face", "Mask"):
        technician.respirator_papers.create(respirator=words_then, **days)
    migration = import_module("accounts.migrations.0003_respirator_kinds")
    migration.name_the_kinds(apps, None)
    kinds = dict(technician.respirator_papers.values_list("respirator", "kind"))
    # two kinds or none: a person enters them again
    assert kinds == {"Half-face, organic vapor": "half_vapor", "Half-face": "", "Mask": ""}
