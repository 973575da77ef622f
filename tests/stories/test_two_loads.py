"""One treatment from two tank loads: 24 gal on 24,000 sq ft out of a tank of 12 gal.

Derived: at 1 fl oz and 1 gal on 1,000 sq ft each load of 12 gal holds 12 fl oz, and both stand
exactly at the maximum. Nothing is mocked but the clock.
"""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime
from io import BytesIO

import pytest
import time_machine
from django.http import HttpResponse
from pypdf import PdfReader

from accounts.models import Branch, Person
from scheduling.models import Renewal, Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.services.sweep import sweep
from tests.factories import client_for, make_label, make_pest, make_product, make_visit, make_zone
from tests.scheduling.views.rows import due_place
from treatments.models import ApplicationRecord, LabelUse, LogEntry, ResidualWindow, ZoneProtection
from treatments.selectors.windows import protection_drift

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
DAY, NEXT_DAY = date(2026, 11, 25), date(2026, 11, 26)


@pytest.fixture
def direction() -> LabelUse:
    """At most 1 fl oz in 1 gal on 1,000 sq ft, once a year, a week between two uses."""
    product = make_product("Demonstration A SC", registration_number="99999-101")
    use = {"rate_max": 1, "per_gallon": 1, "uses_per_year": 1, "min_interval_days": 7}
    return make_label(product, pests=[make_pest("Brown marmorated stink bug")], use=use)


@pytest.fixture
def visit(branch_ohio: Branch, technician: Person) -> Visit:
    """A booked renewal of one band of 24,000 sq ft: 3,000 ft, 3 ft up and 5 ft out."""
    renewal = due_place(branch_ohio, technician, zones=1, state=RenewalState.BOOKED)
    band = make_zone(renewal.property, "Fence line", run="3000", up="3", out="5")
    renewal.property.zones.exclude(pk=band.pk).update(retired_on=DAY)
    return make_visit(renewal.property, technician, DAY, renewal=renewal)


class Phone:
    """The technician's phone at the stop."""

    def __init__(self, technician: Person, visit: Visit, direction: LabelUse) -> None:
        self.visit, self.client = visit, client_for(technician)
        band = visit.property.zones.get(name="Fence line")
        self.choice = f"?zone={band.pk}&use={direction.pk}&tank=12"
        self.more = "&rate=most&reason=Cracked brick"

    def mix(self) -> str:
        return words(self.client.get(f"/stops/{self.visit.pk}/mix/{self.choice}{self.more}"))

    def load(self, amount: str, hour: int, ending: str) -> HttpResponse:
        typed = {
            "client_ref": str(uuid.uuid4()), "ending": ending, "protective_equipment": "on",
            "product_amount": amount, "product_unit": "fl_oz",
            "finished_amount": "12", "finished_unit": "gal",
            "started": f"{hour:02}:00", "finished": f"{hour:02}:40",
        }  # fmt: skip
        path = f"/stops/{self.visit.pk}/record/{self.choice}{self.more}"
        answer = self.client.post(path, typed)
        assert answer.status_code == 302, words(answer)
        return answer

    def judged(self) -> dict[str, str]:
        """The last record's severity by clause."""
        record = ApplicationRecord.objects.latest("pk")
        return dict(record.judgements.values_list("code", "severity"))


def words(answer: HttpResponse) -> str:
    return answer.content.decode().replace("\xa0", " ")


def test_two_loads_are_one_treatment(technician: Person, visit: Visit, direction: LabelUse) -> None:
    phone = Phone(technician, visit, direction)
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        assert '<span class="main">24.00 gal</span>' in phone.mix()
        first = phone.load("12", 8, "rest")
        the_rest_follows(phone, first.url)
        phone.load("12", 9, "finish")
        at_the_maximum(phone)
        one_visit_ends(visit)
        the_notice_says_both(phone)


def the_rest_follows(phone: Phone, after: str) -> None:
    page = words(phone.client.get(after))
    assert "12.00 fl oz of Demonstration A SC in 12.00 gal on these zones." in page
    assert "The mix is for the rest; the label judges both together." in page
    assert '<span class="main">12.00 gal</span>' in phone.mix()
    assert "Load 1 of 1" in phone.mix() and "Load 2" not in phone.mix()
    stop = words(phone.client.get(f"/stops/{phone.visit.pk}/"))
    assert "12 fl oz in 12 gal" in stop
    link = stop.partition(f'href="/stops/{phone.visit.pk}/mix/?')[2].partition('"')[0]
    again = words(phone.client.get(f"/stops/{phone.visit.pk}/mix/?{link.replace('&amp;', '&')}"))
    assert "The mix is for the rest" in again


def at_the_maximum(phone: Phone) -> None:
    judged = phone.judged()
    assert {judged[code] for code in ("rate", "uses")} == {"note"}
    assert judged.get("interval", "note") == "note"
    assert set(judged.values()) <= {"note", "warn"}


def one_visit_ends(visit: Visit) -> None:
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE and visit.applications.count() == 2
    assert (ResidualWindow.objects.filter(zone__name="Fence line").count(), protection_drift()) == (
        2, [])  # fmt: skip
    assert ZoneProtection.objects.filter(zone__name="Fence line").count() == 1
    # the due house has an old record without a leaf; the two of the visit have one each
    assert LogEntry.objects.count() == 2


def the_notice_says_both(phone: Phone) -> None:
    notice = phone.client.get(f"/visits/{phone.visit.pk}/notice.pdf")
    assert notice.status_code == 200
    said = " ".join(PdfReader(BytesIO(notice.content)).pages[0].extract_text().split())
    assert "24 fl oz of product in 24 gal of finished spray on 24,000 sq ft" in said
    assert "12 fl oz in 12 gal; 12 fl oz in 12 gal" in said


def test_one_drop_more_is_a_violation(
    technician: Person, visit: Visit, direction: LabelUse
) -> None:
    phone = Phone(technician, visit, direction)
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        phone.load("12", 8, "rest")
        phone.load("12.000001", 9, "finish")
    assert phone.judged()["rate"] == "violation"
    assert phone.judged()["uses"] == "note"


def test_another_visit_the_next_day_is_another_use(
    technician: Person, visit: Visit, direction: LabelUse
) -> None:
    phone = Phone(technician, visit, direction)
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        phone.load("12", 8, "finish")
    second = Phone(technician, make_visit(visit.property, technician, NEXT_DAY), direction)
    with time_machine.travel("2026-11-26T15:00:00Z", tick=False):
        assert "Recorded at this stop." not in second.mix()
        second.load("12", 8, "finish")
    judged = second.judged()
    assert {judged[code] for code in ("interval", "uses")} == {"violation"}
    assert judged["rate"] == "note"


def test_the_sweep_after_it_opens_one_renewal(
    technician: Person, visit: Visit, direction: LabelUse
) -> None:
    phone = Phone(technician, visit, direction)
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False) as clock:
        phone.load("12", 8, "rest")
        phone.load("12", 9, "finish")
        clock.move_to("2027-02-20T15:00:00Z")
        before = Renewal.objects.count()
        for _ in range(2):
            sweep(today=date(2027, 2, 20), now=datetime(2027, 2, 20, 15, tzinfo=UTC))
        opened = Renewal.objects.order_by("pk")[before:]
        assert [one.zones.filter(zone__name="Fence line").count() for one in opened] == [1]
