"""Dust with a respirator row: who is not fitted is refused and told who is, who is fitted works.

Products, labels and respirators are invented (99999-1xx).
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import date

import pytest
import time_machine

from accounts.models import Branch, Person
from accounts.permissions import Role
from accounts.services.respirators import add_respirator_paper, end_respirator_paper
from scheduling.models import Visit
from tests.factories import client_for, make_person
from tests.stories.test_safety_questions import DONE, SAFE, TYPED, dust, visit, words
from treatments.models import ApplicationRecord, LabelProtection, LabelUse, LogEntry
from treatments.rules.protective_equipment import respirators_in

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
__all__ = ["visit"]
ROW = "Half-face respirator with P100 particulate filters"
UNTIL = date(2027, 6, 30)


@pytest.fixture(autouse=True)
def _ten_in_the_morning() -> Iterator[None]:
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        yield


def fit(person: Person, kind: str, by: Person) -> int:
    has_cartridge = kind.startswith("half")
    paper = add_respirator_paper(
        person_id=person.pk,
        kind=kind,
        respirator="Demonstration, medium",
        medical_until=UNTIL,
        fit_test_until=UNTIL,
        cartridge_until=UNTIL if has_cartridge else None,
        by=by,
    )
    return int(paper.pk)


def asks(use: LabelUse, item: str = ROW, pages: int = 1) -> None:
    LabelProtection.objects.bulk_create(
        LabelProtection(
            label_version=use.label_version,
            task="dust",
            item=item,
            page=f"page {n}",
            respirators=list(respirators_in(item)),
        )
        for n in range(1, pages + 1)
    )


def test_who_is_not_fitted_is_refused_and_told_who_is(
    visit: Visit, technician: Person, office: Person, manager: Person, branch_ohio: Branch
) -> None:
    zone, use, amount = dust(visit)
    asks(use)
    client, choice = client_for(technician), {"zone": zone.pk, "use": use.pk, "tank": "1"} | SAFE

    def mix() -> str:
        return words(client.get(f"/stops/{visit.pk}/mix/", choice).content)

    assert "no medical clearance, fit test and cartridge date are on file" in mix()
    assert "Nobody else of the branch has papers for this respirator either." in mix()
    colleague = make_person([Role.TECHNICIAN], branch_ohio)
    fit(colleague, "half_particulate", office)
    page = mix()
    assert "Refused before mixing" in page
    assert "1 colleague of the branch has papers for this respirator: ask the office" in page
    assert colleague.full_name not in page  # a technician does not see people

    other = fit(technician, "filtering_facepiece", office)
    assert "no fit test is on file for half-face with particulate filters" in mix()
    end_respirator_paper(paper_id=other, reason="Wrong kind.", by=office, now=visit.created_at)
    fit(technician, "half_particulate", office)
    page = mix()
    assert "Allowed" in page
    assert "your papers hold for Half-face with particulate filters" in page

    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    form = TYPED | DONE | {"client_ref": str(uuid.uuid4()), "product_amount": amount}
    assert client.post(path, form).status_code == 302
    record = ApplicationRecord.objects.get()
    assert dict(record.judgements.values_list("code", "severity"))["respirator"] == "note"
    leaf = bytes(LogEntry.objects.get(record=record).leaf)
    assert b"no_live_outlets" in leaf
    assert b"Half-face with particulate filters" in leaf
    assert "your papers hold" in words(client_for(manager).get(f"/record/{record.pk}/").content)


def test_who_may_see_people_reads_the_names(
    visit: Visit, technician: Person, office: Person, branch_ohio: Branch
) -> None:
    zone, use, _ = dust(visit)
    asks(use)
    technician.role_grants.create(role=Role.OFFICE)
    colleague = make_person([Role.TECHNICIAN], branch_ohio)
    fit(colleague, "half_particulate", office)
    choice = {"zone": zone.pk, "use": use.pk, "tank": "1"} | SAFE
    page = words(client_for(technician).get(f"/stops/{visit.pk}/mix/", choice).content)
    assert f"Papers for this respirator: {colleague.full_name}." in page


def test_a_respirator_on_many_pages_is_recorded(visit: Visit, technician: Person) -> None:
    """The clause of a judgement holds 200 letters; PostgreSQL refuses more."""
    zone, use, amount = dust(visit)
    asks(use, pages=60)
    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    form = TYPED | DONE | {"client_ref": str(uuid.uuid4()), "product_amount": amount}
    assert client_for(technician).post(path, form).status_code == 302
    found = ApplicationRecord.objects.get().judgements.get(code="respirator")
    assert found.severity == "violation"
    assert found.clause.endswith("more pages") and len(found.clause) <= 200
