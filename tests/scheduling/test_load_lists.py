"""The load list: what tomorrow's stops need, what the truck has, what the store gives."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Branch, Person
from scheduling.models import RenewalZone, Visit
from scheduling.selectors.load_lists import LoadPage, load_page, own_load_page
from scheduling.services.cancel import cancel_visit
from tests.factories import client_for, make_renewal, make_visit
from tests.treatments.conftest import NOW, House, house, make_house
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import FirmRate, HistoricBatch, HistoricTreatment, LabelUse, ResidualWindow
from treatments.rules.applications import Entered
from treatments.services.recording import record_application

__all__ = ["house", "make_house", "shelf"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY = NOW.date()
TOMORROW = TODAY + timedelta(days=1)


def booked(house: House, window: ResidualWindow | None, day: date = TOMORROW) -> Visit:
    """A visit for a renewal of the band because of that window."""
    renewal = make_renewal(house.place) if window else None
    if renewal and window:
        RenewalZone.objects.create(renewal=renewal, zone=house.band, window=window)
    return make_visit(house.place, house.technician, day, renewal=renewal)


def treated(house: House, amount: str = "1.6") -> ResidualWindow:
    """The window of a record of that amount."""
    application = house.application(product_amount=Entered(amount, "fl_oz"))
    record_application(application=application, by=house.technician, now=NOW)
    return ResidualWindow.objects.filter(zone=house.band).latest("pk")


def written(house: House, product: str) -> ResidualWindow:
    """The window of a last treatment as a spreadsheet wrote it."""
    batch = HistoricBatch.objects.create(
        branch=house.place.branch, file_name="sheet.csv", file_sha256="0" * 64, rows=1
    )
    said = HistoricTreatment.objects.create(
        batch=batch, zone=house.band, applied_on=date(2026, 8, 20), product_as_written=product
    )
    return ResidualWindow.objects.create(
        zone=house.band, pest_group="general", historic=said, claim_days=90, days=90,
        applied_on=said.applied_on, opens_on=said.applied_on, expires_on=date(2026, 11, 18),
    )  # fmt: skip


def only_line(page: LoadPage) -> tuple[str, str, str, tuple[str, ...], str]:
    ((line,),) = (load.lines for load in page.loads)
    return line.needed, line.source, line.aboard, line.takes, line.missing


def test_as_last_time_in_whole_containers(shelf: Shelf) -> None:
    lot = shelf.receive()
    shelf.load(lot, "2")
    booked(shelf.house, treated(shelf.house))
    # 2 fl oz came, 1.6 were used, 1.6 are needed again: a bottle of 32 fl oz
    assert only_line(load_page(shelf.manager, TOMORROW)) == (
        "1.60 fl oz",
        "as last time",
        "0.40 fl oz",
        ("32.00 fl oz (1 container) of lot L-1 from Main store",),
        "",
    )


def test_a_metric_branch_reads_milliliters(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "2")
    booked(shelf.house, treated(shelf.house))
    Branch.objects.update(units="metric")
    # 1 fl oz is 29.5735295625 mL (NIST Handbook 44)
    assert only_line(load_page(shelf.manager, TOMORROW)) == (
        "47.32 mL",
        "as last time",
        "11.83 mL",
        ("946.35 mL (1 container) of lot L-1 from Main store",),
        "",
    )


def test_enough_aboard_is_left_aboard(shelf: Shelf) -> None:
    shelf.load(shelf.receive(), "10")
    booked(shelf.house, treated(shelf.house))
    assert only_line(load_page(shelf.manager, TOMORROW))[2:] == ("8.40 fl oz", (), "")


def test_what_is_expired_by_then_is_not_counted(shelf: Shelf) -> None:
    shelf.load(shelf.receive(expires_on=TODAY), "10")
    booked(shelf.house, treated(shelf.house))
    # the day on the container is its last: good today, gone tomorrow
    assert only_line(load_page(shelf.manager, TOMORROW))[2:] == ("0.00 fl oz", (), "1.60 fl oz")


def test_a_spreadsheet_names_the_product_and_the_label_the_amount(shelf: Shelf) -> None:
    shelf.receive()
    booked(shelf.house, written(shelf.house, " demonstration a SC"))
    # 1 fl oz per 1,000 sq ft on 200 ft x (3 + 5) ft
    assert only_line(load_page(shelf.manager, TOMORROW))[:2] == ("1.60 fl oz", "by the label")


def test_the_rate_the_firm_proposes_is_loaded(shelf: Shelf) -> None:
    LabelUse.objects.update(rate_min=Decimal("0.5"))
    booked(shelf.house, written(shelf.house, "demonstration a SC"))
    # 0.5 to 1 fl oz per 1,000 sq ft on 1,600: low 0.8, middle 1.2
    assert only_line(load_page(shelf.manager, TOMORROW))[0] == "0.80 fl oz"
    FirmRate.objects.create(label_use=LabelUse.objects.get(), choice="middle")
    assert only_line(load_page(shelf.manager, TOMORROW))[0] == "1.20 fl oz"


@pytest.mark.parametrize("known", ["another product", ""])
def test_a_stop_nothing_is_known_of_is_named(shelf: Shelf, known: str) -> None:
    booked(shelf.house, written(shelf.house, known) if known else None)
    ((load),) = load_page(shelf.manager, TOMORROW).loads
    assert load.lines == ()
    (stop,) = load.unknown
    assert stop.startswith("118 Sluice Lane")


def test_a_canceled_visit_and_another_day_need_nothing(shelf: Shelf) -> None:
    visit = booked(shelf.house, treated(shelf.house))
    assert load_page(shelf.manager, TODAY).loads == ()
    cancel_visit(visit_id=visit.pk, reason="Away", by=None, now=NOW)
    assert load_page(shelf.manager, TOMORROW).loads == ()


def test_each_sees_the_own_list(shelf: Shelf, other_technician: Person) -> None:
    booked(shelf.house, treated(shelf.house))
    assert own_load_page(other_technician, TOMORROW).loads == ()
    assert len(own_load_page(shelf.house.technician, TOMORROW).loads) == 1


def test_the_pages(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    shelf.receive()
    booked(shelf.house, treated(shelf.house))
    office = client_for(shelf.manager).get("/load-list/").content.decode()
    hand = client_for(shelf.house.technician).get("/today/load/").content.decode()
    for page in (office, hand):
        text = " ".join(page.split())
        assert "32.00 fl oz (1 container) of lot L-1 from Main store" in text
        assert "Truck 4 (DEMO 44)" in text
    wrong = client_for(shelf.manager).get("/load-list/?date=soon")
    assert (wrong.status_code, "write the day as" in wrong.content.decode()) == (422, True)


def test_the_list_reads_as_often_for_three_stops_as_for_thirty(
    shelf: Shelf, make_house: Callable[..., House]
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as read:
            page = load_page(shelf.manager, TOMORROW)
        assert page.loads
        return len(read)

    def more(number: int) -> None:
        for _ in range(number):
            count = Visit.objects.count()
            shelf.receive(f"L-{count}")
            one = make_house(street=f"{count} Mill Road")
            booked(one, treated(one))

    more(3)
    few = queries()
    more(27)
    assert queries() == few
