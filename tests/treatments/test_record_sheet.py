"""The box of a record on its page and on paper, also of a version that is not in force."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from accounts.models import Person
from tests.factories import client_for
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import corrected
from treatments.models import ApplicationRecord
from treatments.selectors.record_page import record_page
from treatments.services.profiles import load_profiles
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db


@pytest.fixture
def record(house: House) -> ApplicationRecord:
    load_profiles()
    application = house.application(equipment="1-gal hand can")
    return record_application(application=application, by=house.technician, now=NOW).record


def paper(person: Person, pk: int) -> str:
    answer = client_for(person).get(f"/record/{pk}/record.pdf")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_box_says_each_item(record: ApplicationRecord, manager: Person) -> None:
    found = {line.name: line.words for line in record_page(manager, record.pk).box}
    # 1.6 gal of spray on 1.6 fl oz of product: 128 fl oz in a gallon, so 1 in 128
    assert found["Mix ratio"] == "1.6 fl oz in 1.6 gal, 1 in 128.0"
    # 1.6 fl oz x 0.666667 lb/gal / 128 = 0.0083333 lb in 1.6 gal x 8.34 lb = 13.344 lb
    assert found["Percent active in the finished spray"] == "0.0625 %"
    assert found["Method and equipment"] == "Perimeter band; 1-gal hand can"
    assert found["Use site"] == "Foundation band (foundation wall)"
    assert found["Business license"] == "DEMO-OH-1"
    assert found["Supervisor and category"] == "the applicator is certified"
    assert found["Copy given to whom, when, how"] == "not asked here"
    assert found["Wind direction"] == "not asked here"


def test_what_is_missing_is_marked(record: ApplicationRecord, manager: Person) -> None:
    page = client_for(manager).get(f"/record/{record.pk}/").content.decode()
    assert "As the rules ask for it" in page
    assert "This version as a PDF" in page
    lines = record_page(manager, record.pk).box
    assert len({line.name for line in lines}) == len(lines)


def test_the_paper_holds_the_box_and_the_leaf(record: ApplicationRecord, manager: Person) -> None:
    said = paper(manager, record.pk)
    leaf = record.leaves.get()
    for words in (
        "1 in 128.0",
        "Demonstration A SC",
        "99999-101",
        "Marta Ellwood",
        "not asked here",
    ):
        assert words in said
    assert "version 1 of 1" in said
    assert leaf.leaf_hash in said.replace(" ", "")


def test_an_old_version_on_paper_says_what_stands_in_its_place(
    record: ApplicationRecord, house: House, manager: Person
) -> None:
    later = corrected(record, house.technician, manager, equipment="backpack")
    old = paper(manager, record.pk)
    assert f"NOT IN FORCE: record {later.pk}, version 2" in old
    assert "1-gal hand can" in old
    new = paper(manager, later.pk)
    assert "CORRECTED OR COMPLETED: version 2 is in force." in new
    assert "backpack instead of 1-gal hand can" in new
