"""The totals page and the three reports: the same figures on the page and in every file."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook
from pypdf import PdfReader

from accounts.models import Branch, OpenItem, Person
from tests.factories import client_for, make_label, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.test_log import behind_the_guards
from tests.treatments.total_cases import followed_by, recorded
from treatments.models import ActiveIngredient, ProductIngredient
from treatments.rules.applications import Entered
from treatments.services.periods import close_period
from treatments.services.total_findings import CODE, check_totals

pytestmark = pytest.mark.django_db
HOUSE_UL = 47_318  # 1.6 fl oz, see tests/treatments/test_totals.py


@pytest.fixture(autouse=True)
def now() -> Any:
    """3 PM in Ohio of the suite's day."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dust(house: House) -> House:
    """The same house with a dry product: 4 oz by weight of 0.5 % in it."""
    product = make_product(
        "Demonstration D dust", registration_number="99999-104", formulation="dust"
    )
    ProductIngredient.objects.create(
        product=product,
        ingredient=ActiveIngredient.objects.create(common_name="demodust"),
        percent_by_weight=Decimal("0.5"),
    )
    direction = {"rate_unit": "oz_wt", "rate_max": Decimal(1), "per_gallon": None}
    use = make_label(product, pests=[house.pest], use=direction)
    return House(house.place, house.band, use, house.pest, house.technician)


def used(house: House, dust: House) -> None:
    """Two uses of the liquid, one of the dust, one without an amount, one work without product."""
    recorded(house, 40)
    recorded(house, 20)
    recorded(dust, 10, product_amount=Entered("4", "oz_wt"), finished_amount=None)
    recorded(house, 5, product_amount=None, finished_amount=None)
    recorded(
        house,
        3,
        label_use_id=None,
        method="spot",
        product_amount=None,
        finished_amount=None,
    )


def page(person: Person, report: str, **chosen: object) -> str:
    answer = client_for(person).get(f"/reports/{report}/", chosen)
    assert answer.status_code == 200
    return answer.content.decode().replace("\u00a0", " ")


def rows_of(person: Person, report: str, **chosen: object) -> list[dict[str, str]]:
    answer = client_for(person).get(f"/reports/{report}/file.csv", chosen)
    assert answer.status_code == 200 and answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_annual_report_by_hand(house: House, dust: House, manager: Person) -> None:
    used(house, dust)
    first, second, total, *about = rows_of(manager, "annual", year=2026)
    # 2 x 1.6 fl oz are 94,636 uL: 0.0250 gal (3,785,411.784 uL a gallon);
    # 94,636 / 3,785,411.784 x 0.666667 lb = 0.016667 lb
    assert first == {
        "Registration number": "99999-101",
        "Product": "Demonstration A SC",
        "ZIP": "43085",
        "County": "Franklin, OH",
        "Records": "3",
        "Without amount": "1",
        "Liquid, gal": "0.0250",
        "Dry, lb": "",
        "Active ingredient": "demothrin 0.016667 lb",
        "Liquid, µL": str(2 * HOUSE_UL),
        "Dry, mg": "",
    }
    # 4 oz are 113,398.0925 mg, kept as 113,398: 0.2500 lb; 0.5 % of it 0.00125 lb
    assert second["Dry, lb"] == "0.2500" and second["Dry, mg"] == "113398"
    assert second["Active ingredient"] == "demodust 0.001250 lb"
    assert (total["Records"], total["Liquid, µL"], total["Dry, mg"]) == ("4", "94636", "113398")
    said = "\n".join(row["Registration number"] for row in about)
    five = "5 records, 94,636 µL, 113,398 mg"
    assert f"Reconciled with the log: {five}; the leaves give {five}" in said
    assert "1 record names a product and says no amount" in said
    assert "1 record is work without a product" in said


def test_mass_of_product_never_makes_up_a_density(
    house: House, dust: House, manager: Person
) -> None:
    used(house, dust)
    liquid, dry, total, *_ = rows_of(manager, "mass", year=2026)
    assert liquid["Mass of product, kg"] == "Cannot be given in kg: no density on file"
    # regulations: 250 mL of product counts as 0.250 kg where 1 L counts as 1 kg (read)
    assert liquid["Liquid, L"] == liquid["Where 1 L counts as 1 kg"] == "0.095"
    assert liquid["Active ingredient"] == "demothrin 0.007560 kg"  # 0.016667 lb x 0.45359237
    assert dry["Mass of product, kg"] == "0.113"
    assert total["Mass of product, kg"] == "0.113 kg dry; liquid: no density on file"
    assert total["Where 1 L counts as 1 kg"] == "0.208"


def test_the_county_summary_is_of_one_month(house: House, dust: House, manager: Person) -> None:
    used(house, dust)
    # 40 days before Nov 25 is Oct 16
    only, *_ = rows_of(manager, "county", year=2026, month=10)
    assert (only["County"], only["Records"], only["Liquid, µL"]) == (
        "Franklin, OH",
        "1",
        str(HOUSE_UL),
    )
    assert "Monthly summary by county, Oct 2026" in page(manager, "county")


def test_totals_by_month_and_person_are_drawn_and_told(
    house: House, dust: House, manager: Person
) -> None:
    used(house, dust)
    said = page(manager, "totals", period="month", by="applicator")
    assert "Oct 2026" in said and "Terry Technician" in said
    assert said.count('<svg class="dr"') == 4  # liquid and dry, wide and narrow
    assert "Oct 2026: 0.0125 gal; Nov 2026: 0.0125 gal" in said
    assert "Agrees" in said


def test_a_product_that_is_asked_for_narrows_page_and_log(
    house: House, dust: House, manager: Person
) -> None:
    used(house, dust)
    rows = rows_of(manager, "totals", product="Demonstration D dust")
    named = [row["Product"] for row in rows if row["Registration number"]]
    assert named == ["Demonstration D dust"]
    assert "Product: Demonstration D dust" in [row["Product"] for row in rows]
    said = page(manager, "totals", product="Demonstration D dust")
    assert "Reconciled with the log: 1 record, 0 µL, 113,398 mg" in said


def test_page_and_files_say_the_same(house: House, dust: House, manager: Person) -> None:
    used(house, dust)
    client = client_for(manager)
    book = load_workbook(io.BytesIO(client.get("/reports/annual/file.xlsx").content))
    assert book.sheetnames == ["Product by registration number ", "Active ingredient", "About"]
    sheet = book.worksheets[0]
    numbers = {row[0]: row for row in sheet.iter_rows(min_row=2, values_only=True)}
    assert numbers["99999-101"][9] == 94_636 and numbers["99999-104"][10] == 113_398
    pdf = PdfReader(io.BytesIO(client.get("/reports/annual/file.pdf").content))
    words = " ".join(one.extract_text() for one in pdf.pages)
    for said in ("99999-101", "0.0250", "demothrin 0.016667 lb", "Reconciled with the log"):
        assert said in words
    assert "5 records" in words.replace("\n", " ")


def test_a_demonstration_says_so_on_paper(house: House, manager: Person, settings: Any) -> None:
    settings.DEMO = True
    recorded(house, 3)
    client = client_for(manager)
    pdf = PdfReader(io.BytesIO(client.get("/reports/mass/file.pdf").content))
    assert "Demonstration: every firm" in pdf.pages[0].extract_text()
    assert "Demonstration: every firm" in client.get("/reports/mass/file.csv").content.decode()


def test_a_name_that_looks_like_a_formula_is_not_run(house: House, manager: Person) -> None:
    use = make_label(make_product("=1+1", registration_number="99999-199"), pests=[house.pest])
    recorded(House(house.place, house.band, use, house.pest, house.technician), 3)
    first, *_ = rows_of(manager, "annual")
    assert first["Product"] == "'=1+1"
    book = load_workbook(io.BytesIO(client_for(manager).get("/reports/annual/file.xlsx").content))
    cell = book.worksheets[0]["B2"]
    assert (cell.value, cell.data_type) == ("'=1+1", "s")


def test_nothing_used_is_a_report_too(manager: Person) -> None:
    assert "nothing was used" in page(manager, "mass", year=2024)
    pdf = client_for(manager).get("/reports/mass/file.pdf", {"year": 2024}).content
    assert "Nothing was used in this period" in PdfReader(io.BytesIO(pdf)).pages[0].extract_text()


def test_a_difference_is_printed_and_opens_an_item_once(house: House, manager: Person) -> None:
    record = recorded(house, 3)
    behind_the_guards(
        "UPDATE treatments_applicationrecord SET product_ul = product_ul - 1 "
        f"WHERE id = {record.pk}"
    )
    said = page(manager, "annual")
    assert "Does not agree with the log (check A21): 1 record, 47,317 µL" in said
    page(manager, "annual")
    item = OpenItem.objects.get(code=CODE)
    assert (item.branch_id, item.closed_at) == (house.place.branch_id, None)
    assert "47,317 µL" in item.sentence and "47,318 µL" in item.sentence
    behind_the_guards(
        "UPDATE treatments_applicationrecord SET product_ul = product_ul + 1 "
        f"WHERE id = {record.pk}"
    )
    assert all(one.is_whole for one in check_totals(year=2026, now=NOW).values())
    item.refresh_from_db()
    assert item.closed_at == NOW and item.closed_note


def test_corrections_and_voids_move_every_report(house: House, manager: Person) -> None:
    first, second = recorded(house, 20), recorded(house, 10)
    followed_by(first, "correction", manager, product_ul=40_000)
    followed_by(second, "void", manager)
    only, *_ = rows_of(manager, "annual")
    assert (only["Records"], only["Liquid, µL"]) == ("1", "40000")
    assert "Agrees" in page(manager, "annual")


@pytest.mark.parametrize(
    "chosen",
    [
        {"since": "soon", "until": "2026-13-01"},
        {"since": "2026-12-01", "until": "2026-01-01"},
        {"by": "customer", "period": "week"},
        {"branch": "999999", "applicator": "x", "zip_code": "43' OR 1=1"},
        {"year": "10000000000", "month": "13"},
        {"page": "-7", "county": "<script>"},
    ],
)
@pytest.mark.parametrize("report", ["totals", "annual", "county", "mass"])
def test_nonsense_is_named_or_left_out(
    report: str, chosen: dict[str, str], house: House, manager: Person
) -> None:
    recorded(house, 30)
    assert "<script>" not in page(manager, report, **chosen)
    assert client_for(manager).get(f"/reports/{report}/file.pdf", chosen).status_code == 200


def test_no_such_report_and_no_such_file(manager: Person) -> None:
    client = client_for(manager)
    assert client.get("/reports/daily/").status_code == 404
    assert client.get("/reports/annual/file.exe").status_code == 404


def test_queries_do_not_grow_with_the_records(house: House, manager: Person) -> None:
    client = client_for(manager)
    counted = []
    for days in ((3,), (40, 80, 120, 160)):
        for one in days:
            recorded(house, one)
        with CaptureQueriesContext(connection) as seen:
            client.get("/reports/totals/", {"period": "month", "by": "county"})
        counted.append(len(seen))
    assert counted[0] == counted[1] <= 30


def test_a_long_log_is_compared_when_asked(
    house: House, manager: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("treatments.selectors.use_papers.LEAVES_FOR_A_PAGE", 0)
    recorded(house, 3)
    assert "Not compared with the log yet" in page(manager, "annual")
    assert "Reconciled with the log" in page(manager, "annual", compare=1)
    assert "Reconciled with the log" in "".join(
        row["Registration number"] for row in rows_of(manager, "annual")
    )


def test_a_metric_firm_reads_liters(manager: Person, house: House) -> None:
    house.place.branch.units = "metric"
    house.place.branch.save()
    recorded(house, 3)
    first, *_ = rows_of(manager, "annual")
    assert first["Liquid, L"] == "0.047" and "Dry, kg" in first


def test_the_command_says_what_it_found(house: House) -> None:
    record = recorded(house, 3)
    out = StringIO()
    call_command("check_totals", year=2026, stdout=out)
    assert "Columbus: Reconciled with the log: 1 record, 47,318 µL, 0 mg" in out.getvalue()
    behind_the_guards(
        f"UPDATE treatments_applicationrecord SET product_ul = 1 WHERE id = {record.pk}"
    )
    with pytest.raises(CommandError, match="Totals and log differ: Columbus"):
        call_command("check_totals", year=2026, stdout=out)
    assert OpenItem.objects.filter(code=CODE, closed_at=None).count() == 1


def test_a_report_says_whether_its_days_are_closed(
    house: House, manager: Person, branch_penn: Branch
) -> None:
    asked = {"year": "2026", "month": "10", "branch": str(house.place.branch_id)}
    said = page(manager, "county", **asked)
    assert "Period: not closed yet; records may still come" in said
    close_period(branch_id=house.place.branch_id, through=date(2026, 10, 31), by=manager, now=NOW)
    assert "Period: closed; nothing in these days changes" in page(manager, "county", **asked)
    both = page(manager, "annual", year="2026")
    assert (
        f"Columbus: closed through Oct 31, 2026, open after it; {branch_penn.name}: not closed"
        in both
    )


def test_what_was_chosen_stands_on_the_paper(house: House, manager: Person) -> None:
    recorded(house, 3)
    pk = house.place.branch_id
    lines = [
        row["Registration number"] for row in rows_of(manager, "annual", branch=pk, state="OH")
    ]
    assert "Branch: Columbus" in lines and "State: OH" in lines and "Days: 2026" in lines


def test_the_parts_of_the_sheet_are_lettered_without_a_gap(house: House, manager: Person) -> None:
    def letters(said: str) -> list[str]:
        return re.findall(r'class="key">([A-Z]?)<', said)

    assert letters(page(manager, "mass")) == ["A", "B", "C"]
    recorded(house, 3)
    for report in ("totals", "annual", "county", "mass"):
        said = page(manager, report, year=2026, month=11)
        assert letters(said) == ["A", "B", "C", "D", "E"], report
    assert "Liquid, by ZIP" in page(manager, "annual")
    assert "0.047 L" in page(manager, "mass")
