"""From a pest named to a finding and back, what is gone, who was asked, and the report sent."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.utils import timezone

from accounts.models import Branch, Notice, OpenItem, Person
from scheduling.models import Visit
from scheduling.selectors.exclusion_list import exclusion_list
from scheduling.selectors.notices import notice_of
from scheduling.selectors.site_logbook import logbook_of
from sites.models import (
    ExclusionTask,
    Finding,
    FindingIdentification,
    Identification,
    Inspection,
    Pest,
    Property,
    TaskAsk,
)
from sites.services.identification_key import load_key
from sites.services.task_asks import chase_tasks
from tests.accounts.pages import ask, send, words
from tests.factories import (
    client_for,
    make_contact,
    make_customer,
    make_label,
    make_pest,
    make_property,
    make_record,
    make_visit,
    make_zone,
)
from tests.inspection_cases import (
    make_ask,
    make_ending,
    make_finding,
    make_report,
    make_round,
    make_task,
    upload,
)

pytestmark = pytest.mark.django_db
SEEN = "seen=shape.shield&seen=antennae.banded"


def _today() -> date:
    return timezone.now().astimezone(ZoneInfo("America/New_York")).date()


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    return make_property(make_customer(branch_ohio, "Ash Household"), "14 Heron Lane")


@pytest.fixture
def stop(place: Property, technician: Person) -> Visit:
    return make_visit(place, technician, _today())


@pytest.fixture
def bug(db: None) -> Pest:
    load_key()
    return make_pest("Stink bug", scientific_name="Halyomorpha halys")


def _decision(**more: Any) -> dict[str, Any]:
    return {"client_ref": str(uuid.uuid4()), "taxon": "HALHA", "confidence": "certain"} | more


def test_a_finding_is_identified_and_keeps_its_own_words(
    place: Property, bug: Pest, office: Person
) -> None:
    finding = make_finding(make_round(place), checkpoint="eaves")
    client, url = client_for(office), f"/findings/{finding.pk}/identify/"
    assert "Record brown marmorated stink bug" in words(client.get(f"{url}?{SEEN}"))
    form = _decision()
    for _ in range(2):
        answer = client.post(f"{url}record/?{SEEN}", form | {"photos": upload()})
        assert answer["Location"] == finding.get_absolute_url()
    named = FindingIdentification.objects.get()
    assert (named.finding, named.pest, named.created_by) == (finding, bug, office)
    assert named.identification.photo_ref
    finding.refresh_from_db()
    assert (finding.pest, finding.known_pest) == (None, bug)
    assert "Brown marmorated stink bug , certain" in words(ask(office, "finding", finding.pk))


def test_an_identification_at_a_stop_becomes_a_finding_and_opens_the_mix(
    stop: Visit, bug: Pest, technician: Person
) -> None:
    zone = make_zone(stop.property)
    use = make_label()
    use.pests.add(bug)
    use.places = [zone.place]
    use.save()
    client = client_for(technician)
    form = _decision(found_where="Attic hatch", zone=zone.pk)
    client.post(f"/stops/{stop.pk}/identify/record/?{SEEN}", form)
    row = Identification.objects.get()
    page = client.get(row.get_absolute_url())
    assert page.context["around"].mix == f"zone={zone.pk}&use={use.pk}&pest={bug.pk}"
    mix = client.get(f"/stops/{stop.pk}/mix/?{page.context['around'].mix}")
    chosen = [pest.pk for pest in mix.context["page"].pests if pest.is_chosen]
    assert chosen == [bug.pk]
    answer = client.post(f"/identifications/{row.pk}/finding/")
    begun = client.get(answer["Location"]).context["form"].initial
    assert (begun["pest"], begun["where"], begun["kind"]) == (str(bug.pk), "Attic hatch", "live")
    found = {"client_ref": str(uuid.uuid4()), "checkpoint": "attic", "severity": "soon"}
    found |= {"kind": "live", "pest": bug.pk, "gap_unit": "mm", "gap_shape": "slit"}
    assert client.post(answer["Location"], found | {"opening": "plain"}).status_code == 302
    assert FindingIdentification.objects.get().finding == Finding.objects.get()
    again = client.post(f"/identifications/{row.pk}/finding/")
    assert str(Inspection.objects.get().pk) in again["Location"]


def test_an_identification_of_another_property_names_no_finding(
    place: Property, bug: Pest, office: Person
) -> None:
    other = make_property(place.customer, "99 Wren Lane")
    client = client_for(office)
    client.post(f"/properties/{other.pk}/identify/record/?{SEEN}", _decision())
    row = Identification.objects.get()
    form = client.get(f"/inspections/{make_round(place).pk}/finding/?identified={row.pk}")
    assert "pest" not in form.context["form"].initial
    for odd in ("9" * 30, "x", "-1"):
        url = f"/inspections/{make_round(place).pk}/finding/?identified={odd}"
        assert client.get(url).status_code == 200


def test_what_is_gone_is_closed_by_who_looked(place: Property, office: Person) -> None:
    before = make_round(place, begun_at=timezone.now() - timedelta(days=40))
    gone, kept = make_finding(before), make_finding(before, checkpoint="eaves")
    make_task(kept)
    now = make_round(place)
    page = words(ask(office, "inspection_round", now.pk))
    assert "Gone: close it" in page and "a task is open" in page
    assert send(office, "inspection_round", now.pk, gone=gone.pk).status_code == 302
    gone.refresh_from_db()
    assert (gone.closing.kind, gone.closing.created_by) == ("gone", office)
    assert office.full_name in words(ask(office, "finding", gone.pk))
    for refused, code in ((kept.pk, "A task about it is open"), (gone.pk, "not open from")):
        answer = send(office, "inspection_round", now.pk, gone=refused)
        assert answer.status_code == 422 and code in words(answer)


def test_a_customer_is_asked_chased_and_told_how_often(place: Property, office: Person) -> None:
    finding = make_finding(make_round(place), checkpoint="vegetation")
    late = date(2026, 3, 2)
    task = make_task(finding, does="customer", due_on=late, measure="vegetation", material="none")
    make_task(finding)
    now, today = timezone.now(), _today()
    assert (chase_tasks(today=today, now=now), chase_tasks(today=today, now=now)) == (1, 0)
    item = OpenItem.objects.get(code="customer_task")
    assert "past due since Mar 2, 2026, not asked yet" in item.sentence
    make_ask(task)
    for _ in range(2):
        assert send(office, "exclusion_task_ask", task.pk).status_code == 302
    item.refresh_from_db()
    assert "asked twice, last on" in item.sentence
    assert TaskAsk.objects.count() == 2
    assert "asked twice" in words(ask(office, "exclusion_tasks", show="customer"))


def test_the_next_notice_says_how_often_it_was_asked(stop: Visit, technician: Person) -> None:
    make_record(make_zone(stop.property), technician, make_label(), visit_ref=str(stop.ref))
    task = make_task(make_finding(make_round(stop.property)), does="customer")
    assert "asked" not in notice_of(stop, demo=False).to_do[0].what
    make_ask(task)
    assert "You were asked once, last on Apr 1, 2026." in notice_of(stop, demo=False).to_do[0].what


def test_the_first_task_of_the_list_wins_most(place: Property, office: Person) -> None:
    mouse = make_pest("Mouse", scientific_name="Mus musculus", group="rodents")
    seen = make_round(make_property(place.customer, "99 Wren Lane"))
    for _ in range(3):
        make_finding(seen, kind="live", pest=mouse)
    rows = (
        make_task(make_finding(make_round(place)), due_on=date(2098, 1, 1), price=Decimal("10.50")),
        make_task(make_finding(make_round(place), "8"), price=Decimal(60)),
        make_task(make_finding(seen, "8")),
        make_task(make_finding(seen, "8"), does="customer", price=Decimal(99)),
    )
    work = exclusion_list(office, "open", _today())
    # the same gap weighs more where mice were found; no gap weighs nothing
    assert [row.task for row in work.rows] == [rows[2], rows[3], rows[1], rows[0]]
    assert [
        row.weight > other.weight for row, other in zip(work.rows[1:], work.rows[2:], strict=False)
    ] == [
        True,
        True,
    ]
    assert (work.total, work.unpriced) == (Decimal("70.50"), 1)


def test_findings_stand_in_the_logbook_by_month(place: Property) -> None:
    make_finding(make_round(place))
    make_finding(make_round(place, begun_at=timezone.now() - timedelta(days=900)))
    make_finding(make_round(make_property(place.customer, "99 Wren Lane")))
    book = logbook_of(place, timezone.now())
    assert sum(one.findings or 0 for one in book.trend) == 1
    found = next(one for one in book.lists if one.key == "findings")
    assert len(found.rows) == 1 and found.rows[0][-1] == "Open"


@pytest.fixture
def sender(office: Person) -> Client:
    return client_for(office)


def test_a_report_goes_to_who_wants_notices_once(place: Property, sender: Client) -> None:
    make_contact(place.customer, "Lee Example", email="lee@customer.example")
    make_contact(place.customer, "Sam Quiet", email="sam@customer.example", wants_notices=False)
    inspection = make_round(place)
    task: ExclusionTask = make_task(make_finding(inspection), does="customer")
    report = make_report(inspection)
    url = f"/inspection-reports/{report.pk}/send/"
    assert sender.post(url).status_code == 302
    notice = Notice.objects.get()
    assert (notice.kind, notice.to_email) == ("inspection_report", "lee@customer.example")
    assert bytes(notice.attachment or b"") == bytes(report.content)
    assert "1 finding" in notice.body and "1 task for you" in notice.body
    assert task.asks.get().how == "report"
    assert "Everybody has this report" in words(sender.post(url))
    assert Notice.objects.count() == 1


def test_a_report_without_anybody_to_send_it_to_says_so(place: Property, sender: Client) -> None:
    url = f"/inspection-reports/{make_report(make_round(place)).pk}/send/"
    assert "Nobody of this customer" in words(sender.post(url))
    assert not Notice.objects.exists() and not TaskAsk.objects.exists()


def test_what_was_closed_up_stands_on_the_property_page(place: Property, office: Person) -> None:
    finding = make_finding(make_round(place), "8")
    make_ending(make_task(finding, material="copper_mesh"))
    page = words(ask(office, "property", place.pk))
    assert "Done, Nov 30, 2026" in page and "Copper mesh: Entry point, 8 mm" in page
