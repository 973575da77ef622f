"""The emergency sheet: what a doctor asks first is in the PDF's text, three products a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO

import pytest
import time_machine
from pypdf import PdfReader

from accounts.models import Person
from tests.factories import client_for, make_label, make_load, make_product, make_record
from tests.treatments.conftest import NOW, House
from treatments.models import LabelFile, LabelVersion
from treatments.reports.emergency_sheet import draw_emergency_sheet
from treatments.reports.emergency_words import EmergencySheet, SheetProduct
from treatments.selectors.emergency_sheets import aboard, product_sheet, property_sheet

AID = (
    "If swallowed: call a poison control center or doctor at once. Do not induce vomiting unless "
    "told to by a poison control center or doctor. If on skin: take off contaminated clothing and "
    "rinse skin with plenty of water for 15 to 20 minutes. If in eyes: hold eye open and rinse "
    "slowly with water for 15 to 20 minutes. If inhaled: move person to fresh air."
)
PRODUCT = SheetProduct(
    name="Demonstration A SC",
    registration_number="99999-101",
    ingredients="demothrin 7.9 %",
    signal_word="Caution",
    first_aid=AID,
    first_aid_page="p. 2",
    reentry="Keep people and pets off treated walls and soil until dry.",
    label_date="Jan 1, 2026",
    safety_sheet="of Feb 3, 2026, attached to the label",
    where="Aboard: lot L-1",
)
SHEET = EmergencySheet(
    firm="Lanternfield",
    address="1 Demonstration Way, Columbus, OH 43085",
    phone="(614) 555-0100",
    after_hours="(614) 555-0101",
    about="Terry Technician, Nov 25, 2026",
    made="Nov 25, 2026, 3:00 PM",
    products=(PRODUCT,),
    demo=True,
)


def pages(sheet: EmergencySheet) -> list[str]:
    read = PdfReader(BytesIO(draw_emergency_sheet(sheet))).pages
    return [" ".join(page.extract_text().split()) for page in read]


def test_everything_stands_in_the_text() -> None:
    (page,) = pages(SHEET)
    for words in (
        "Demonstration A SC",
        "Caution",
        "99999-101",
        "demothrin 7.9 %",
        "Do not induce vomiting",
        "(p. 2)",
        "until dry",
        "Jan 1, 2026",
        "of Feb 3, 2026, attached",
        "Aboard: lot L-1",
        "911",
        "1-800-222-1222",
        "1-800-858-7378",
        "(614) 555-0100",
        "(614) 555-0101",
        "control, contain, clean up",
        "Demonstration. Every person",
    ):
        assert words in page, words


@pytest.mark.parametrize(("count", "sheets"), [(0, 1), (1, 1), (3, 1), (4, 2), (6, 2), (9, 3)])
def test_three_products_fit_a_page_and_none_is_split(count: int, sheets: int) -> None:
    names = [f"Demonstration {number} X" for number in range(1, count + 1)]
    products = tuple(replace(PRODUCT, name=name) for name in names)
    found = pages(replace(SHEET, products=products))
    assert len(found) == sheets
    assert all("1-800-222-1222" in page for page in found)
    for name in names:
        (page,) = [page for page in found if name in page]
        # its first aid is on the same page: as many as names
        assert page.count("If swallowed") == sum(other in page for other in names)


def test_a_long_first_aid_and_strange_letters_are_drawn() -> None:
    product = replace(PRODUCT, first_aid=AID * 30, name="Prüfmittel \u014c <b>", signal_word="")
    assert "Prufmittel O <b>" in " ".join(pages(replace(SHEET, products=(product,))))


def test_what_is_not_entered_is_said() -> None:
    (page,) = pages(replace(SHEET, products=(replace(PRODUCT, first_aid="", reentry=""),)))
    assert page.count("Not entered here: read the label in your hand.") == 2
    assert "(p. 2)" not in page


def test_a_real_firm_is_not_marked() -> None:
    (page,) = pages(replace(SHEET, demo=False))
    assert "Every person" not in page


@pytest.fixture
def _at_three() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.mark.django_db
def test_the_sheet_of_a_product_is_of_its_label_in_force(house: House, manager: Person) -> None:
    label = house.use.label_version
    LabelVersion.objects.filter(pk=label.pk).update(
        first_aid=AID, pages={"first_aid": "p. 2"}, safety_sheet_date=date(2026, 2, 3)
    )
    pdf = b"%PDF-1.7"
    LabelFile.objects.create(
        label_version=label, kind="safety_sheet", name="sds.pdf", content=pdf, size=len(pdf)
    )
    make_label(label.product, effective_on=date(2027, 1, 1), first_aid="Next year")
    make_label(label.product, effective_on=date(2025, 1, 1), first_aid="Last year")
    sheet = product_sheet(label.product_id, manager, NOW, demo=True)
    (product,) = sheet.products
    assert (product.first_aid, product.first_aid_page) == (AID, "p. 2")
    assert product.safety_sheet == "of Feb 3, 2026, attached to the label"
    assert product.ingredients == "demothrin 7.9 %"
    assert product.registration_number == "99999-101 (demonstration)"
    assert "Columbus" in sheet.address


@pytest.mark.django_db
def test_a_product_without_a_label_is_not_found(manager: Person) -> None:
    bare = make_product()
    assert client_for(manager).get(f"/products/{bare.pk}/emergency.pdf").status_code == 404


@pytest.mark.django_db
def test_what_is_aboard_is_lots_and_tanks(house: House) -> None:
    make_load(house.technician, house.use)
    assert aboard(house.technician) == {house.use.label_version_id: "Aboard: a mixed tank"}


@pytest.mark.django_db
def test_the_sheet_of_a_property_is_what_was_put_down_in_90_days(
    house: House, manager: Person
) -> None:
    other = make_label(make_product("Demonstration Z"))
    day = NOW.date()
    make_record(house.band, house.technician, house.use, applied_on=day - timedelta(days=90))
    make_record(house.band, house.technician, other, applied_on=day - timedelta(days=91))
    sheet = property_sheet(house.place.pk, manager, NOW, demo=False)
    assert [one.name for one in sheet.products] == ["Demonstration A SC"]
    assert sheet.products[0].where == "Put down Aug 27, 2026"


@pytest.mark.django_db
def test_a_property_without_records_says_so(house: House, manager: Person) -> None:
    sheet = property_sheet(house.place.pk, manager, NOW, demo=False)
    assert "No product is recorded here in the last 90 days." in pages(sheet)[0]
