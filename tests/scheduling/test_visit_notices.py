"""What customers hear of their visits: made once, told anew when moved, lost never."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import ContactLink, Notice, Person
from accounts.refusals import Refused
from accounts.services.sending import send_due
from config import settings as configured
from scheduling.models import RenewalZone, Visit
from scheduling.services.cancel import cancel_visit
from scheduling.services.visit_notices import hand_over, keep_visit_notices, offer_visit
from sites.models import Property, SiteCaution, TaskAsk
from tests.factories import (
    make_contact,
    make_customer,
    make_label,
    make_property,
    make_record,
    make_renewal,
    make_visit,
    make_window,
    make_zone,
)
from tests.inspection_cases import make_finding, make_round, make_task

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
DAY = date(2026, 12, 1)
BEFORE = datetime(2026, 11, 30, 14, tzinfo=UTC)  # nine o'clock at the branch, New York


@pytest.fixture
def place(technician: Person) -> Property:
    found = make_property(make_customer(technician.branch))
    make_contact(found.customer)
    return found


@pytest.fixture
def visit(place: Property, technician: Person) -> Visit:
    return make_visit(place, technician, DAY, created_at=NOW)


def kinds() -> list[str]:
    return list(Notice.objects.order_by("pk").values_list("kind", flat=True))


def paper(notice: Notice) -> str:
    pages = PdfReader(BytesIO(bytes(notice.attachment or b""))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.engine
def test_appointment_at_once_and_reminder_the_day_before(visit: Visit) -> None:
    assert keep_visit_notices(now=NOW) == 1 and keep_visit_notices(now=NOW) == 0
    assert keep_visit_notices(now=BEFORE - timedelta(minutes=1)) == 0
    assert keep_visit_notices(now=BEFORE) == 1 and keep_visit_notices(now=BEFORE) == 0
    assert kinds() == ["appointment", "reminder"]
    first = Notice.objects.get(kind="appointment")
    # 14 to 16 UTC on Dec 1 is 9 to 11 in Columbus (EST, five hours behind)
    assert "Tue, Dec 1, 2026, 9:00 to 11:00 AM" in first.subject
    assert "between 9:00 and 11:00 AM" in paper(first)


def test_a_visit_that_was_moved_is_told_anew_and_the_old_letter_stays_home(visit: Visit) -> None:
    keep_visit_notices(now=NOW)
    later = visit.window_opens_at + timedelta(days=1)
    Visit.objects.update(
        day=DAY + timedelta(days=1),
        window_opens_at=later,
        window_closes_at=later + timedelta(hours=2),
    )
    assert keep_visit_notices(now=NOW) == 1
    assert list(Notice.objects.order_by("pk").values_list("state", flat=True)) == [
        "canceled",
        "waiting",
    ]


def test_nothing_goes_out_for_a_canceled_visit(visit: Visit, office: Person) -> None:
    keep_visit_notices(now=NOW)
    cancel_visit(visit_id=visit.pk, reason="Moved away.", by=office, now=NOW)
    assert keep_visit_notices(now=NOW) == 0
    assert send_due(now=NOW).taken == 0 and mail.outbox == []


def test_a_reminder_that_waited_past_the_promised_hours_is_not_sent(visit: Visit) -> None:
    keep_visit_notices(now=BEFORE)
    over = visit.window_opens_at
    keep_visit_notices(now=over)
    assert send_due(now=over).taken == 0
    assert set(Notice.objects.values_list("state", flat=True)) == {"canceled"}


@pytest.mark.parametrize(
    "fields", [{"email": ""}, {"wants_notices": False}, {"role": "bills"}, {"role": "emergency"}]
)
def test_who_is_not_written_to(visit: Visit, place: Property, fields: dict[str, object]) -> None:
    place.customer.contacts.update(**fields)
    assert keep_visit_notices(now=NOW) == 0


def test_a_closed_account_hears_nothing(visit: Visit, place: Property) -> None:
    place.customer.status = "closed"
    place.customer.save()
    assert keep_visit_notices(now=NOW) == 0


def test_the_link_stands_in_the_message_alone(visit: Visit, client: Client) -> None:
    keep_visit_notices(now=NOW)
    send_due(now=NOW)
    found = re.search(r"/logbook/enter/([\w-]{43})/", mail.outbox[0].body)
    assert found is not None
    token = found.group(1)
    url = configured.CONTACT_LINK_URL.format(token=token)
    assert url.endswith(reverse("site_logbook_enter", args=[token])) and url in mail.outbox[0].body
    assert token not in str(list(Notice.objects.values("body", "subject", "last_answer")))
    assert token not in str(list(ContactLink.objects.values()))
    link = ContactLink.objects.get()
    assert link.expires_on == DAY + timedelta(days=30)


def test_how_to_prepare_follows_treatment_and_property(
    visit: Visit, place: Property, technician: Person
) -> None:
    zone = make_zone(place)
    window = make_window(make_record(zone, technician, make_label()))
    renewal = make_renewal(place)
    RenewalZone.objects.create(renewal=renewal, zone=zone, window=window)
    Visit.objects.update(renewal=renewal)
    SiteCaution.objects.create(property=place, kind="dog", note="gate code 4711")
    SiteCaution.objects.create(property=place, kind="sensitive_occupant", note="grandmother")
    keep_visit_notices(now=NOW)
    said = paper(Notice.objects.get())
    assert "Move pots, bins and firewood" in said and "Keep the dog inside" in said
    assert "4711" not in said and "ensitive" not in said and "grandmother" not in said
    assert "bare" not in said.lower() and "unprotected" not in said.lower()


def test_an_offer_goes_out_once_a_day(place: Property, office: Person) -> None:
    renewal = make_renewal(place)
    assert offer_visit(renewal_id=renewal.pk, by=office, now=NOW) == 1
    renewal.refresh_from_db()
    assert renewal.state == "offered"
    with pytest.raises(Refused) as refused:
        offer_visit(renewal_id=renewal.pk, by=office, now=NOW)
    assert refused.value.code == "sent"
    assert "planning estimate, not a guarantee" in Notice.objects.get().body


def test_an_offer_to_nobody_is_refused(place: Property, office: Person) -> None:
    place.customer.contacts.update(email="")
    with pytest.raises(Refused) as refused:
        offer_visit(renewal_id=make_renewal(place).pk, by=office, now=NOW)
    assert "Call them" in refused.value.sentence


def test_a_paper_is_handed_over_and_leaves_evidence(visit: Visit, office: Person) -> None:
    notice = hand_over(visit_id=visit.pk, kind="appointment", by=office, now=NOW)
    assert [one.kind for one in notice.evidence.all()] == ["handed"]
    assert len(notice.attachment_sha256) == 64
    assert hand_over(visit_id=visit.pk, kind="appointment", by=office, now=NOW) == notice
    cancel_visit(visit_id=visit.pk, reason="No.", by=office, now=NOW)
    with pytest.raises(Refused):
        hand_over(visit_id=visit.pk, kind="appointment", by=office, now=NOW)


def test_customers_are_written_to_about_their_tasks_three_times(place: Property) -> None:
    task = make_task(
        make_finding(make_round(place), "4"), does="customer", due_on=date(2026, 11, 1)
    )
    sent = [keep_visit_notices(now=NOW + timedelta(days=days)) for days in range(40)]
    assert [day for day, letters in enumerate(sent) if letters] == [0, 7, 14]
    assert TaskAsk.objects.filter(task=task, how="letter").count() == 3
    assert str(task) in Notice.objects.first().body.replace("\n", " ")
