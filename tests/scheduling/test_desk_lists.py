"""Training and incidents at the inspection desk, and what a manager takes along from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import AuditEvent, Branch, Person
from tests.factories import client_for, make_visit
from tests.papers import make_training
from tests.scheduling.test_desk import DAY, at_the_desk, list_of, recorded
from tests.treatments.conftest import House, house, make_house
from tests.treatments.incident_cases import reported
from treatments.models import LabelFile, LogEntry

__all__ = ["house", "make_house"]
pytestmark = pytest.mark.django_db
DAY_OF = date.fromisoformat(DAY)


def test_a_label_and_a_notice_a_manager_takes_along_are_logged(
    house: House, manager: Person, branch_penn: Branch
) -> None:
    version = house.use.label_version
    LabelFile.objects.bulk_create(
        [LabelFile(label_version=version, kind="label", name="l.pdf", content=b"%PDF-1", size=6)]
    )
    visit = make_visit(house.place, house.technician)
    visit.applications.create(record=recorded(house, visit_ref=str(visit.ref)))
    client, branch = client_for(manager), house.place.branch_id
    page = at_the_desk(manager, since=DAY).content.decode()
    taken = {
        f"label of label {version.pk}": reverse("desk_label", args=[branch, version.pk, "label"]),
        f"notice of visit {visit.ref}": reverse("desk_notice", args=[branch, visit.pk]),
    }
    for url in taken.values():
        assert f'action="{url}"' in page
        assert client.post(url).status_code == 200
        assert client.post(url.replace(f"/{branch}/", f"/{branch_penn.pk}/")).status_code == 404
    events = AuditEvent.objects.filter(act="handed_over").order_by("pk")
    assert [one.details["what"] for one in events] == list(taken)
    assert {one.person_name for one in events} == {"Morgan Manager"}
    assert LogEntry.objects.filter(kind="handed_over").count() == 2


def test_training_on_the_days_of_the_work_is_listed(
    house: House, manager: Person, other_technician: Person
) -> None:
    trainee = replace(house, technician=other_technician)
    other_technician.licenses.update(kind="trainee")
    for days in (30, 0):
        recorded(trainee, days=days, applicator_id=other_technician.pk)
    make_training(other_technician, DAY_OF - timedelta(days=10))
    make_training(other_technician, DAY_OF + timedelta(days=1))  # after the work
    answer = at_the_desk(manager, since="2026-01-01", until="2026-12-31")
    (row,) = list_of(answer, "training").rows
    assert (row[0], row[2], row[5]) == (other_technician.full_name, "Nov 15, 2026", "1")
    assert list_of(answer, "training").missing == (
        "1 record by somebody who is not a certified applicator, without a training record in "
        "force that day.",
    )


def test_incidents_of_records_places_and_days_are_listed(
    house: House, make_house: Callable[..., House], manager: Person
) -> None:
    record = recorded(house, days=20)
    about = reported(house, record_ids=(record.pk,))
    there = reported(make_house(street="1 Mill Road"))
    aboard = reported(house, property_id=None, where="Route 4, mile 12")

    def listed(**asked: str) -> set[str]:
        return {row[0] for row in list_of(at_the_desk(manager, **asked), "incidents").rows}

    assert listed(since=DAY) == {str(one.pk) for one in (about, there, aboard)}
    assert listed(since=DAY, place="Sluice") == {str(about.pk)}
    assert listed(since=DAY, place="Mill") == {str(there.pk)}
    # of the record, whatever day it happened
    assert listed(since="2026-11-05") == {str(about.pk)}
    assert listed(since="2026-11-06") == set()
    (row,) = list_of(at_the_desk(manager, since=DAY, place="Sluice"), "incidents").rows
    assert "The hose came off" in row[5] and row[7:] == ("open", str(record.pk))
    assert "Ellwood" not in " ".join(row)
    paper = at_the_desk(manager, "post", "desk_paper", since=DAY)
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages)
    assert "Incidents: 3 incidents, 3 open" in " ".join(text.split())
