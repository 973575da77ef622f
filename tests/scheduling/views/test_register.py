"""The register's pages: what runs out, what was in force on a day, one's own papers."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Branch, OpenItem, Person
from accounts.permissions import Role
from scheduling import tasks
from scheduling.selectors.register import whole_register
from tests.accounts.pages import ask, words
from tests.factories import client_for, make_license, make_person
from tests.papers import make_credits, make_cycle, make_firm_paper, make_training
from treatments.models import StockPlace, VehicleCheck

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
TODAY = NOW.date()


@pytest.fixture(autouse=True)
def _today() -> object:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def trainee(branch_ohio: Branch) -> Person:
    """A registered technician whose license ends in nine days, trained in spring."""
    person = make_person([Role.TECHNICIAN], branch_ohio, "Nora Newly")
    make_license(
        person, kind="registered_technician", number="R-9", expires_on=TODAY + timedelta(9)
    )
    make_training(person, date(2026, 3, 2), title="Spring course")
    return person


@pytest.fixture
def truck(branch_ohio: Branch, trainee: Person) -> StockPlace:
    row = StockPlace.objects.create(
        branch=branch_ohio, kind="vehicle", name="Truck 9", technician=trainee
    )
    VehicleCheck.objects.create(
        vehicle=row, checked_at=NOW - timedelta(9), checked_on=TODAY - timedelta(9)
    )
    return row


def test_the_soonest_stands_first(office: Person, trainee: Person, truck: StockPlace) -> None:
    make_firm_paper(office.branch, TODAY - timedelta(300), number="B-1")
    page = words(ask(office, "register"))
    assert "1 ran out, 1 runs out within 30 days." in page
    order = ["Truck 9", "License OH R-9", "Business license B-1", "Training Spring course"]
    places = [page.index(name) for name in order]
    assert places == sorted(places)
    assert "9 d left" in page and "2 d over" in page
    assert "Check the vehicle before it leaves." in page


@pytest.mark.parametrize(
    ("query", "shown", "hidden"),
    [
        ({"kind": "training"}, "Spring course", "R-9"),
        ({"kind": "vehicle_check"}, "Truck 9", "Spring course"),
        ({"kind": "nonsense"}, "R-9", "no such text"),
        ({"branch": "x", "page": "zero"}, "R-9", "no such text"),
    ],
)
def test_filters(
    office: Person,
    trainee: Person,
    truck: StockPlace,
    query: dict[str, str],
    shown: str,
    hidden: str,
) -> None:
    page = words(ask(office, "register", **query))
    assert shown in page and hidden not in page


def test_one_person(office: Person, technician: Person, trainee: Person) -> None:
    page = words(ask(office, "register", person=technician.pk))
    assert "License OH DEMO" in page and "R-9" not in page


def test_another_branch_is_not_shown(office: Person, branch_penn: Branch) -> None:
    far = make_person([Role.TECHNICIAN], branch_penn, "Fay Far")
    make_license(far, "PA", expires_on=TODAY)
    make_firm_paper(branch_penn, TODAY - timedelta(365), number="FAR-1")
    page = words(ask(office, "register"))
    assert "Fay Far" not in page and "FAR-1" not in page
    pdf = client_for(office).get(reverse("register_csv"), {"on": TODAY.isoformat()})
    assert b"FAR" not in pdf.content


def test_the_page_asks_the_same_for_few_and_many(office: Person, branch_ohio: Branch) -> None:
    def enter(number: int) -> None:
        person = make_person([Role.TECHNICIAN], branch_ohio, f"Ann Row{number}")
        make_license(person)
        make_cycle(person, TODAY)
        make_credits(person, TODAY)
        make_training(person, TODAY)
        make_firm_paper(branch_ohio, TODAY)
        StockPlace.objects.create(branch=branch_ohio, kind="vehicle", name=f"Truck {number}")

    def asked() -> int:
        client = client_for(office)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(reverse("register")).status_code == 200
        return len(seen)

    enter(1)
    few = asked()
    for number in range(2, 9):
        enter(number)
    assert asked() == few


def test_ones_own_papers(technician: Person, trainee: Person, truck: StockPlace) -> None:
    page = words(ask(trainee, "own_papers"))
    assert "License OH R-9" in page and "Truck 9: Weekly check" in page and "Spring course" in page
    own = words(ask(technician, "own_papers"))
    assert "License OH DEMO" in own and "R-9" not in own
    assert reverse("own_papers") in ask(technician, "today").content.decode()


def rows(person: Person, on: str) -> list[dict[str, str]]:
    answer = client_for(person).get(reverse("register_csv"), {"on": on})
    assert answer.headers["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def test_what_was_in_force_on_a_day(office: Person, trainee: Person) -> None:
    make_firm_paper(office.branch, date(2025, 1, 1), number="B-1")
    found = rows(office, "2026-03-01")
    assert [(row["Kind"], row["Number"]) for row in found] == [("License", "R-9")]
    found = rows(office, "2026-03-02")
    assert [row["Paper"] for row in found] == ["Registered technician", "Spring course"]
    assert found[1]["In charge, trainer or issuer"] == "Invented Trainer, Certified, OH DEMO-1"
    found = rows(office, "2025-06-01")
    assert [(row["Kind"], row["Number"]) for row in found] == [("Business license", "B-1")]
    assert rows(office, "1999-01-01") == []


def test_who_left_was_licensed_all_the_same(office: Person, trainee: Person) -> None:
    Person.objects.filter(pk=trainee.pk).update(is_active=False)
    assert [row["Holder"] for row in rows(office, "2026-03-01")] == ["Nora Newly"]


def test_the_sheet_on_paper(office: Person, trainee: Person) -> None:
    for number in range(40):
        make_firm_paper(office.branch, TODAY, number=f"B<{number}>")
    answer = client_for(office).get(reverse("register_pdf"), {"on": TODAY.isoformat()})
    pages = PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "in force on Nov 25, 2026" in text and "For Olive Office" in text
    assert "R-9" in text and "Spring course" in text and "B<39>" in text
    assert len(pages) > 1 and "Page 2" in text


@pytest.mark.parametrize("on", ["soon", "2026-02-30", "99999-01-01"])
def test_what_is_no_day_is_said(office: Person, on: str) -> None:
    for name in ("register_csv", "register_pdf"):
        answer = client_for(office).get(reverse(name), {"on": on})
        assert answer.status_code < 500
        assert "That is not a day" in words(answer)


def test_the_sweep_looks_through_the_register(
    trainee: Person, truck: StockPlace, capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("sweep", "--today", "2026-11-25")
    assert "Register: 2 opened, 0 said anew, 0 closed." in capsys.readouterr().out
    tasks.sweep()
    assert OpenItem.objects.filter(code="runs_out").count() == 2


def test_needs_attention_leads_to_the_paper(
    office: Person, trainee: Person, truck: StockPlace
) -> None:
    call_command("sweep", "--today", "2026-11-25", verbosity=0)
    page = ask(office, "attention")
    assert "Nora Newly: License OH R-9, registered technician, runs out within 30" in words(page)
    assert trainee.get_absolute_url() in page.content.decode()
    assert reverse("vehicle", args=[truck.pk]) in page.content.decode()
    assert "2 papers of the register run out or ran out" in words(ask(office, "renewals"))


def test_a_check_closes_the_item_of_the_vehicle(
    trainee: Person, truck: StockPlace, make_check: Callable[[], None]
) -> None:
    call_command("sweep", "--today", "2026-11-25", verbosity=0)
    make_check()
    call_command("sweep", "--today", "2026-11-25", verbosity=0)
    left = OpenItem.objects.filter(closed_at=None).values_list("thing", flat=True)
    assert f"treatments.stockplace:{truck.pk}" not in list(left)


@pytest.fixture
def make_check(truck: StockPlace) -> Callable[[], None]:
    def check() -> None:
        VehicleCheck.objects.create(vehicle=truck, checked_at=NOW, checked_on=TODAY)

    return check


def test_what_is_missing_is_named(office: Person, trainee: Person, branch_penn: Branch) -> None:
    page = words(ask(office, "register"))
    assert "Nora Newly : Registered technician in OH with no certified applicator in" in page
    assert "Columbus : No business license in force is entered. No liability insurance" in page
    assert "Erie" not in page
    chief = make_person([Role.TECHNICIAN], office.branch, "Cleo Chief")
    license = make_license(chief)
    trainee.licenses.update(supervisor=chief)
    make_firm_paper(office.branch, TODAY)
    make_firm_paper(office.branch, TODAY, kind="liability")
    page = words(ask(office, "register"))
    assert "What is missing technicians and branches at work today Nothing:" in page
    assert "under Cleo Chief" in page
    license.delete()
    page = words(ask(office, "register"))
    assert "Cleo Chief is in charge, but holds no certificate in force in OH." in page
    assert "Cleo Chief : No license in force" in page


def test_every_row_leads_to_where_it_is_renewed(
    office: Person, trainee: Person, truck: StockPlace
) -> None:
    make_cycle(trainee, TODAY + timedelta(40))
    trainee.respirator_papers.create(
        kind="half_vapor",
        respirator="Half-face",
        medical_until=TODAY,
        fit_test_until=TODAY,
        cartridge_until=TODAY,
    )
    make_firm_paper(office.branch, TODAY - timedelta(300))
    lines = whole_register(office, TODAY)
    client = client_for(office)
    addresses = [one.act_url or one.url for one in lines]
    assert [client.get(url).status_code for url in addresses] == [200] * len(lines)
    assert {one.kind for one in lines if not one.act_url} == {"vehicle_check"}
    assert reverse("paper_add", args=[trainee.pk, "education"]) in addresses
