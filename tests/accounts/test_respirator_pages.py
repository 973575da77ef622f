"""Respirator papers: who enters them, what the person's sheet says."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from accounts.models import AuditEvent, Branch, Person, RespiratorPaper
from accounts.permissions import Role
from accounts.rules.respirators import Papers
from accounts.selectors.people import respirator_papers
from tests.accounts.pages import ask, codes, errors, send, words
from tests.factories import make_person

pytestmark = pytest.mark.django_db
PAPERS = {
    "respirator": "Half-face, organic vapor",
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
    assert respirator_papers(technician.pk) is None
    for until in ("2026-12-01", "2027-03-31"):
        answer = send(
            office, "respirator_add", technician.pk, **PAPERS | {"cartridge_until": until}
        )
        assert answer.headers["Location"] == technician.get_absolute_url()
    assert respirator_papers(technician.pk) == Papers(
        "Half-face, organic vapor", date(2027, 1, 31), date(2027, 2, 28), date(2027, 3, 31)
    )
    assert AuditEvent.objects.filter(act="respirator_paper_added").count() == 2


def test_the_sheet_says_whether_one_may_be_worn(office: Person, technician: Person) -> None:
    assert "No papers are entered" in words(ask(office, "person", technician.pk))
    today = timezone.now().date()
    later = (today + timedelta(days=60)).isoformat()
    send(
        office,
        "respirator_add",
        technician.pk,
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
        "respirator",
        "medical_until",
        "fit_test_until",
        "cartridge_until",
    }
