"""The plan on property page, stop and inspection report: what is left, what was found."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pypdf import PdfReader

from accounts.models import Branch, Person
from scheduling.reports.inspection import draw_inspection
from scheduling.selectors.inspection_sheets import inspection_sheet
from scheduling.selectors.property_plans import plan_on_paper
from sites.models import InspectionEnding, Property, WallRun
from sites.rules.plan_parts import Held
from sites.selectors.inspections import findings_of
from tests.accounts.pages import ask, words
from tests.factories import TODAY, client_for, make_record, make_visit, make_window, make_zone
from tests.inspection_cases import make_finding, make_round, make_task
from tests.outlines import make_walls, make_water
from tests.scheduling.views.rows import due_place

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    """The pages are read at noon of the suite's day."""
    with time_machine.travel(f"{TODAY}T17:00:00+00:00", tick=True):
        yield


@pytest.fixture
def place(branch_ohio: Branch, technician: Person) -> Property:
    """A box of 60 by 40 ft: one band with 9 days left, a pond, one finding at the north wall."""
    place = due_place(branch_ohio, technician, left=9, zones=1).property
    make_walls(place)
    zone = place.zones.get()
    WallRun.objects.create(zone=zone, name="North wall", length="60", length_mm=18_288, position=0)
    make_water(place)
    seen = make_round(place)
    make_finding(seen, "6", spot="north wall, 12 ft")
    make_finding(seen, spot="somewhere")
    return place


def text_of(paper: bytes) -> str:
    """The words of a report on one line."""
    pages = PdfReader(BytesIO(paper)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_page_labels_zones_with_area_and_days_left(office: Person, place: Property) -> None:
    page = words(ask(office, "property", place.pk))
    zone = place.zones.get()
    assert f"Z1 {zone.name} 600 sq ft 9 d left" in page
    # 60 x 40 ft in plan
    assert "2,400 sq ft in plan" in page and "200 ft of wall" in page
    assert "Fish pond" in page and "not on the plan" in page


def test_sections_are_lettered_as_they_stand(office: Person, place: Property) -> None:
    page = ask(office, "property", place.pk).content.decode()
    # the style counts the empty ones, so that no letter stands twice
    assert page.count("<h2") == page.count('<span class="key"></span>') > 10


def test_without_walls_the_page_says_what_to_do(office: Person, place: Property) -> None:
    place.walls.all().delete()
    page = words(ask(office, "property", place.pk))
    assert "Type the walls" in page and "sq ft in plan" not in page
    make_walls(place, ("north wall", "60", 90), ("east wall", "40", 180), ("west wall", "30", 270))
    page = words(ask(office, "property", place.pk))
    # 60 - 30 = 30 ft east and 40 ft south: 50 ft
    assert "the end is 50 ft south-east of the beginning" in page and "gap 50 ft" in page


def test_the_stop_shows_the_plan_in_its_own_face(technician: Person, place: Property) -> None:
    visit = make_visit(place, technician)
    page = words(ask(technician, "stop", visit.pk))
    assert "Walls, bands, findings and water" in page and "9 d left" in page


def test_queries_do_not_grow_with_what_is_on_the_plan(
    office: Person, technician: Person, place: Property
) -> None:
    client, address = client_for(office), place.get_absolute_url()
    with CaptureQueriesContext(connection) as few:
        assert client.get(address).status_code == 200
    again = make_round(place)
    for number in range(9):
        zone = make_zone(place, f"More {number}")
        make_window(make_record(zone, technician))
        make_finding(again, spot="east wall")
        make_water(place)
        make_task(make_finding(again))
    with CaptureQueriesContext(connection) as many:
        assert client.get(address).status_code == 200
    assert len(many) == len(few) <= 30


def test_the_report_carries_the_plan(manager: Person, place: Property) -> None:
    inspection = place.inspections.get()
    found = findings_of(inspection.pk)
    plan = plan_on_paper(place, found, TODAY)
    assert plan is not None
    assert [(one.number, one.wall, one.along_mm) for one in plan.findings] == [
        (1, "north wall", 3_658)
    ]
    assert [(one.key, one.left, one.held) for one in plan.zones] == [("Z1", "9 d left", Held.HELD)]
    InspectionEnding.objects.create(
        inspection=inspection, ended_at=timezone.now(), is_nothing_found=False
    )
    sheet = inspection_sheet(manager, inspection.pk, TODAY, demo=True)[1]
    drawn, bare = (text_of(draw_inspection(sheet, plan=one)) for one in (plan, None))
    assert "200 ft of wall in 4 runs" in drawn and "9 d left" in drawn
    assert "200 ft of wall" not in bare
    place.walls.all().delete()
    assert plan_on_paper(place, found, TODAY) is None
