"""Open items for what runs out: one a paper, sharper in every band, closed when renewed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from accounts.models import ApplicatorLicense, Branch, OpenItem, Person, RespiratorPaper
from accounts.permissions import Role
from accounts.rules.register import PaperKind
from accounts.selectors.register import own_lines, register_lines
from accounts.services.open_items import close_item
from accounts.services.register_watch import RENEWED, WatchReport, watch_lines
from tests.factories import make_license, make_person
from tests.papers import make_credits, make_cycle, make_firm_paper, make_training

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
END = date(2027, 2, 28)


def watch(left: int) -> WatchReport:
    """The look on the day with so many days left."""
    today = END - timedelta(left)
    now = datetime.combine(today, time(12), UTC)
    return watch_lines(lines=register_lines(None, today), today=today, now=now)


def still_open() -> list[str]:
    return [item.sentence for item in OpenItem.objects.filter(closed_at=None)]


@pytest.fixture
def license(branch_ohio: Branch) -> ApplicatorLicense:
    person = make_person([Role.TECHNICIAN], branch_ohio, "Terry Technician")
    return make_license(person, number="C-7", expires_on=END)


def test_one_item_a_paper_grows_sharper(license: ApplicatorLicense) -> None:
    assert watch(91) == WatchReport(0, 0, 0)
    assert watch(90) == WatchReport(1, 0, 0)
    assert watch(89).is_quiet
    for left, said in ((60, "within 60"), (30, "within 30"), (7, "this week"), (-1, "ran out")):
        assert watch(left) == WatchReport(0, 1, 0)
        (sentence,) = still_open()
        assert said in sentence and "License OH C-7" in sentence
    (item,) = OpenItem.objects.all()
    assert item.thing == f"accounts.applicatorlicense:{license.pk}"
    assert item.branch == license.person.branch


def test_a_renewed_license_closes_its_item(license: ApplicatorLicense) -> None:
    watch(30)
    make_license(license.person, issued_on=END, expires_on=END + timedelta(365))
    assert watch(29) == WatchReport(0, 0, 1)
    assert OpenItem.objects.get().closed_note == RENEWED


def test_what_was_closed_by_hand_comes_back_in_the_next_band(
    license: ApplicatorLicense, office: Person
) -> None:
    watch(30)
    noon = datetime.combine(END - timedelta(30), time(13), UTC)
    close_item(item_id=OpenItem.objects.get().pk, note="Sent in.", by=office, now=noon)
    assert watch(29).is_quiet and watch(8).is_quiet
    assert watch(7) == WatchReport(1, 0, 0)
    assert OpenItem.objects.count() == 2


def test_what_closed_by_itself_opens_again_when_the_renewal_was_an_error(
    license: ApplicatorLicense,
) -> None:
    watch(30)
    wrong = make_license(license.person, issued_on=END, expires_on=END + timedelta(365))
    watch(29)
    ApplicatorLicense.objects.filter(pk=wrong.pk).delete()
    assert watch(28) == WatchReport(1, 0, 0)


def test_papers_of_who_left_warn_nobody(license: ApplicatorLicense) -> None:
    watch(30)
    Person.objects.update(is_active=False)
    assert watch(29) == WatchReport(0, 0, 1)


def kinds(left: int) -> list[tuple[str, date]]:
    today = END - timedelta(left)
    return [(one.kind, one.until) for one in register_lines(None, today)]


def test_training_warns_only_who_is_not_certified(license: ApplicatorLicense) -> None:
    """40 CFR 171.201 is of noncertified applicators (read)."""
    make_training(license.person, END - timedelta(365))
    assert kinds(10) == [(PaperKind.LICENSE, END)]
    ApplicatorLicense.objects.update(kind="registered_technician")
    assert kinds(10) == [(PaperKind.LICENSE, END), (PaperKind.TRAINING, END)]
    make_training(license.person, END - timedelta(100))
    training = END - timedelta(100) + timedelta(365)
    assert kinds(10) == [(PaperKind.LICENSE, END), (PaperKind.TRAINING, training)]


def test_the_cycle_that_runs_warns_while_the_next_is_entered(license: ApplicatorLicense) -> None:
    now = make_cycle(license.person, END)
    make_cycle(license.person, END + timedelta(365), starts_on=END + timedelta(1))
    assert (PaperKind.EDUCATION, END) in kinds(10)
    assert (PaperKind.EDUCATION, END + timedelta(365)) in kinds(-1)
    for _ in range(3):
        make_credits(license.person, now.starts_on)
    assert PaperKind.EDUCATION not in [kind for kind, _ in kinds(10)]


def test_a_respirator_warns_of_the_day_that_comes_first(license: ApplicatorLicense) -> None:
    """29 CFR 1910.134 (from memory): the clearance is of the person, the test of one respirator."""
    far = END + timedelta(99)
    for kind, medical in (("half_vapor", END - timedelta(9)), ("full_vapor", END + timedelta(3))):
        RespiratorPaper.objects.create(
            person=license.person,
            kind=kind,
            respirator=kind,
            medical_until=medical,
            fit_test_until=far,
            cartridge_until=END + timedelta(1) if kind == "half_vapor" else far,
        )
    lines = [one for one in register_lines(None, END) if one.kind == PaperKind.RESPIRATOR]
    assert [(one.what, one.until) for one in lines] == [
        ("Cartridge of half_vapor", END + timedelta(1)),
        ("Medical clearance of full_vapor", END + timedelta(3)),
    ]


def test_firm_papers_are_not_a_technicians_own(license: ApplicatorLicense) -> None:
    make_firm_paper(license.person.branch, END - timedelta(365))
    assert len(register_lines(None, END)) == 2
    assert [one.kind for one in own_lines(license.person, END)] == [PaperKind.LICENSE]
