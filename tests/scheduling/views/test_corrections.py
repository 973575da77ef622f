"""The pages of corrections: from the record to the request, the decision and the use log."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts.models import Person
from scheduling.models import Visit
from scheduling.selectors.notices import notice_of
from scheduling.selectors.use_log import HEADER, export_rows
from tests.factories import client_for, make_visit
from tests.treatments.conftest import House, house, make_house, second
from treatments.models import ApplicationRecord, CorrectionRequest, PeriodClose
from treatments.reports.notice import draw_notice
from treatments.selectors.entries import entries_of
from treatments.selectors.records import UseLogFilter
from treatments.services.recording import record_application

__all__ = ["house", "make_house", "second"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def record(house: House) -> ApplicationRecord:
    """A record of a visit, just made."""
    now = timezone.now()
    visit = make_visit(house.place, house.technician)
    application = house.application(
        started_at=now - timedelta(minutes=30),
        finished_at=now,
        visit_ref=str(visit.ref),
    )
    return record_application(application=application, by=house.technician, now=now).record


def filled(page: Any, **typed: Any) -> dict[str, Any]:
    """What a browser would send: everything the form shows, with some of it typed anew."""
    form = page.context["form"]
    shown = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in (shown | typed).items() if value not in (None, False)}


def ask(record: ApplicationRecord, by: Person, **typed: Any) -> Any:
    client, address = client_for(by), reverse("record_correct", args=[record.pk])
    return client.post(address, filled(client.get(address), **typed))


def test_a_gap_is_filled_on_its_page(house: House, record: ApplicationRecord) -> None:
    client = client_for(house.technician)
    address = reverse("record_fill", args=[record.pk])
    page = client.get(address)
    assert {"wind_mph", "notes"} <= set(page.context["form"].fields)
    assert "product_amount" not in page.context["form"].fields
    # a direct POST of a value that stands already is not looked at
    sent = filled(page, wind_mph="4", product_amount="9")
    assert client.post(address, sent).status_code == 302
    assert client.post(address, sent).status_code == 302  # sent twice: one addendum
    last = entries_of(record)[-1]
    assert (last.wind_mph, last.product_amount, last.entry) == ("4", "1.6", "addendum")
    assert ApplicationRecord.objects.count() == 2


def test_a_form_sent_unchanged_asks_for_nothing(house: House, record: ApplicationRecord) -> None:
    """Every field reads back what it showed, times to the second too."""
    page = ask(record, house.technician, reason="Nothing is wrong.")
    assert page.status_code == 422
    assert "Nothing is changed" in page.content.decode()


def test_from_asking_to_the_copy(
    house: House, record: ApplicationRecord, manager: Person, office: Person
) -> None:
    zone = f"zone_{house.band.pk}"
    typed = {"product_amount": "1.2", zone: "1500", "reason": "Read from the wrong line."}
    assert ask(record, house.technician, **typed).status_code == 302
    request = CorrectionRequest.objects.get()
    assert [one["field"] for one in request.changes] == ["zones", "product_amount"]
    for person in (house.technician, office):
        shown = client_for(person).get(reverse("corrections")).content.decode()
        assert "1.2 fl oz" in shown.replace("\u00a0", " ")
        approve = reverse("correction_approve", args=[request.pk])
        assert client_for(person).post(approve).status_code == 403
    answer = client_for(manager).post(approve)
    after = ApplicationRecord.objects.effective().get()
    assert answer.url == after.get_absolute_url()
    page = client_for(manager).get(answer.url).content.decode().replace("\u00a0", " ")
    assert "Undiluted product: <ins>1.2 fl oz</ins> instead of <del>1.6 fl oz</del>" in page
    old = client_for(manager).get(record.get_absolute_url()).content.decode()
    assert "Not in force." in old and "Ask for a correction" not in old
    notice = notice_of(_visit(record), demo=True)
    assert notice.records[0].amount == "1.2 fl oz" and notice.corrected_on is not None
    assert draw_notice(notice).startswith(b"%PDF")


def _visit(record: ApplicationRecord) -> Any:
    return Visit.objects.get(ref=record.visit_ref)


def test_the_use_log_marks_a_void_and_counts_it_not(
    house: House, record: ApplicationRecord, manager: Person, second: Person
) -> None:
    address = reverse("record_void", args=[record.pk])
    assert client_for(manager).post(address, {"reason": "Recorded twice."}).status_code == 302
    request = CorrectionRequest.objects.get()
    own = client_for(manager).post(reverse("correction_approve", args=[request.pk]))
    assert own.status_code == 422 and "Somebody else" in own.content.decode()
    client_for(second).post(reverse("correction_approve", args=[request.pk]))
    page = client_for(manager).get(reverse("uselog"))
    assert "Voided" in page.content.decode() and page.context["log"].totals == []
    [row] = [dict(zip(HEADER, cells, strict=True)) for cells in export_rows(UseLogFilter())]
    assert (row["Entry"], row["Undiluted product"]) == ("Voided", "")


def test_declining_says_why(house: House, record: ApplicationRecord, manager: Person) -> None:
    ask(record, house.technician, wind_mph="4", reason="Read late.")
    request = CorrectionRequest.objects.get()
    address = reverse("correction_decline", args=[request.pk])
    assert client_for(manager).post(address, {"reason": ""}).status_code == 422
    assert client_for(manager).post(address, {"reason": "No meter."}).status_code == 302
    page = client_for(house.technician).get(request.get_absolute_url()).content.decode()
    assert "Declined" in page and "No meter." in page


def test_a_period_is_closed_and_reopened(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    branch = house.place.branch_id
    client = client_for(manager)
    day = record.applied_on
    close = client.post(reverse("period_close", args=[branch]), {"through": day.isoformat()})
    assert close.status_code == 422  # today is not over
    PeriodClose.objects.create(branch_id=branch, kind="close", through=day)
    shut = client.get(record.get_absolute_url()).content.decode()
    assert "Period closed" in shut and "Fill a gap" not in shut
    sent = {"client_ref": uuid.uuid4(), "wind_mph": "4"}
    direct = client.post(reverse("record_fill", args=[record.pk]), sent)
    assert direct.status_code == 422 and ApplicationRecord.objects.count() == 1
    reopened = {"from_day": day.isoformat(), "reason": "A sheet came late."}
    assert client.post(reverse("period_reopen", args=[branch]), reopened).status_code == 302
    assert "A sheet came late." in client.get(reverse("periods")).content.decode()


def test_the_office_opens_records_of_its_branch_only(
    record: ApplicationRecord, office: Person, branch_penn: Any, other_technician: Person
) -> None:
    assert client_for(office).get(record.get_absolute_url()).status_code == 200
    office.branch = branch_penn
    office.save()
    for person in (office, other_technician):
        for name in ("record", "record_fill", "record_correct", "record_void"):
            assert client_for(person).get(reverse(name, args=[record.pk])).status_code == 404
