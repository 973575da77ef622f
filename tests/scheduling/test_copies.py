"""The customer's copy: given in several ways, corrected, late, answered by evidence, forgotten."""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import AuditEvent, Contact, Notice, NoticeEvidence, OpenItem, Person
from accounts.refusals import Refused
from accounts.rules.notices import Way
from accounts.services.notices import note_evidence
from scheduling.models import Visit, VisitApplication
from scheduling.selectors.copies import LEFT
from scheduling.services.copies import give_copy, send_notices
from scheduling.services.correcting import approve_request
from tests.factories import client_for, make_contact, make_customer, make_visit
from tests.treatments.conftest import NOW, House, house, make_house
from treatments.models import ApplicationRecord, LogEntry, RecordCopy
from treatments.rules.copies import COPY_RULES
from treatments.selectors.record_page import record_page
from treatments.services.auditing import audit_records
from treatments.services.corrections import ask_correction, ask_void
from treatments.services.profiles import load_profiles
from treatments.services.purging import purge_records
from treatments.services.recording import record_application

__all__ = ["house", "make_house"]
pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(hours=1)


@pytest.fixture
def visit(house: House) -> Visit:
    return make_visit(house.place, house.technician)


@pytest.fixture
def record(house: House, visit: Visit) -> ApplicationRecord:
    application = house.application(visit_ref=str(visit.ref))
    stored = record_application(application=application, by=house.technician, now=NOW).record
    VisitApplication.objects.create(visit=visit, record=stored)
    return stored


@pytest.fixture
def owner(house: House) -> Contact:
    return make_contact(house.place.customer, "Marta Ellwood", email="marta@customer.example")


def give(record: ApplicationRecord, by: Person, way: str, to: object = LEFT) -> Notice:
    return give_copy(
        record_id=record.pk, to=str(getattr(to, "pk", to)), way=Way(way), by=by, now=LATER
    )


def box_of(record: ApplicationRecord, person: Person) -> str:
    return record_page(person, record.pk).box[-1].words


def corrected(record: ApplicationRecord, by: Person, approver: Person) -> ApplicationRecord:
    facts = {"product_amount": "1.4 fl_oz"}
    asked = ask_correction(record_id=record.pk, facts=facts, reason="Misread.", by=by, now=LATER)
    return approve_request(request_id=asked.pk, by=approver, now=LATER)


def is_open(code: str) -> bool:
    return OpenItem.objects.filter(code=code, closed_at=None).exists()


def test_a_copy_is_e_mailed_once_with_the_paper(
    record: ApplicationRecord, owner: Contact, technician: Person
) -> None:
    first, again = (give(record, technician, "email", owner) for _ in range(2))
    assert first.pk == again.pk and Notice.objects.count() == 1
    assert box_of(record, technician) == "Marta Ellwood: waiting to be sent"
    assert send_notices(now=LATER).taken == 1
    [message] = mail.outbox
    assert message.to == ["marta@customer.example"]
    assert "118 Sluice Lane" in message.subject and "Demonstration A SC" in message.body
    [(name, content, kind)] = message.attachments
    assert (name, kind) == (f"copy-{record.pk}.pdf", "application/pdf")
    text = PdfReader(io.BytesIO(content)).pages[0].extract_text()
    assert "Demonstration A SC" in text and "118 Sluice Lane" in text
    assert "taken by the mail server, Nov 25, 2026, 4:00 PM" in box_of(record, technician)
    with pytest.raises(Refused) as refused:
        give(record, technician, "email", owner)
    assert refused.value.code == "sent" and len(mail.outbox) == 1


def test_a_copy_is_handed_over_and_shown(
    record: ApplicationRecord, owner: Contact, technician: Person
) -> None:
    give(record, technician, "phone", owner)
    give(record, technician, "paper", LEFT)
    give(record, technician, "paper", LEFT)
    said = box_of(record, technician).split("\n")
    assert said == [
        "Marta Ellwood: shown on the phone, Nov 25, 2026, 4:00 PM, by Terry Technician",
        "left at the property: handed over on paper, Nov 25, 2026, 4:00 PM, by Terry Technician",
    ]
    assert mail.outbox == [] and NoticeEvidence.objects.count() == 2


@pytest.mark.parametrize(
    ("contact", "way"),
    [
        ({"email": ""}, "email"),
        ({"wants_notices": False}, "email"),
        (None, "email"),
        (None, "phone"),
    ],
)
def test_to_whom_it_cannot_go(
    record: ApplicationRecord, technician: Person, contact: dict[str, Any] | None, way: str
) -> None:
    to = LEFT
    if contact is not None:
        to = str(make_contact(record.property.customer, **contact).pk)
    with pytest.raises(Refused) as refused:
        give_copy(record_id=record.pk, to=to, way=Way(way), by=technician, now=NOW)
    assert refused.value.facts["field"] == "to" and not Notice.objects.exists()


@pytest.mark.parametrize("to", ["", "0", "-1", "x", "9" * 30, "²"])
def test_nobody_of_somebody_else_gets_it(
    record: ApplicationRecord, technician: Person, to: str
) -> None:
    stranger = make_contact(make_customer(technician.branch))
    for one in (to, str(stranger.pk)):
        with pytest.raises(Refused):
            give_copy(record_id=record.pk, to=one, way=Way.PAPER, by=technician, now=NOW)
    assert not Notice.objects.exists()


def test_a_correction_sends_the_corrected_copy_to_who_had_one(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    after = corrected(record, technician, manager)
    notice = Notice.objects.get(kind="corrected_copy")
    assert (notice.to_email, notice.state) == ("marta@customer.example", "waiting")
    assert is_open("corrected_copy")
    assert "(an earlier version)" in box_of(after, technician)
    send_notices(now=LATER)
    assert not is_open("corrected_copy")
    assert "was corrected" in mail.outbox[1].body
    content = mail.outbox[1].attachments[0][1]
    assert "1.4 fl oz" in PdfReader(io.BytesIO(content)).pages[0].extract_text()


def test_an_outdated_copy_that_waits_is_not_sent(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    first = give(record, technician, "email", owner)
    corrected(record, technician, manager)
    send_notices(now=LATER)
    first.refresh_from_db()
    assert first.state == "canceled" and len(mail.outbox) == 1
    assert mail.outbox[0].subject.startswith("Corrected copy")


def test_the_corrected_paper_answers_the_item(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    give(record, technician, "paper", owner)
    after = corrected(record, technician, manager)
    assert is_open("corrected_copy") and Notice.objects.count() == 1
    give(after, technician, "phone", owner)
    assert is_open("corrected_copy")  # it was only shown
    give(record, technician, "paper", owner)  # an old link gives what stands now
    assert not is_open("corrected_copy")
    assert RecordCopy.objects.filter(record=after).count() == 2


def test_who_had_a_copy_hears_that_it_was_voided(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    asked = ask_void(record_id=record.pk, reason="Recorded twice.", by=technician, now=LATER)
    void = approve_request(request_id=asked.pk, by=manager, now=LATER)
    send_notices(now=LATER)
    assert "was voided" in mail.outbox[1].body and mail.outbox[1].attachments == []
    assert not is_open("corrected_copy")
    with pytest.raises(Refused) as refused:
        give(void, technician, "paper", owner)
    assert refused.value.code == "voided"


@pytest.fixture
def minnesotan(house: House, monkeypatch: pytest.MonkeyPatch) -> ApplicationRecord:
    """A record of work under a rule that asks for a copy within five days."""
    rules = {"US-OH": COPY_RULES["US-MN"]}
    monkeypatch.setattr("treatments.rules.copies.COPY_RULES", rules)
    load_profiles()
    application = house.application()
    return record_application(application=application, by=house.technician, now=NOW).record


def test_a_late_copy_opens_an_item_that_evidence_closes(
    minnesotan: ApplicationRecord, owner: Contact, technician: Person, office: Person
) -> None:
    assert box_of(minnesotan, office) == "missing, by a rule that is not verified"
    for days, late in ((5, False), (6, True)):
        at = NOW + timedelta(days=days)
        audit_records(today=at.date(), now=at)
        assert is_open("copy_not_given") is late
    sentence = OpenItem.objects.get(code="copy_not_given").sentence
    assert "was to get a copy by Nov 30, 2026" in sentence and "Marta" not in sentence
    give(minnesotan, technician, "phone", owner)
    assert is_open("copy_not_given")
    notice = give(minnesotan, technician, "email", owner)
    assert is_open("copy_not_given")  # it waits
    send_notices(now=LATER)
    assert not is_open("copy_not_given")
    at = NOW + timedelta(days=7)
    note_evidence(notice_id=notice.pk, kind="bounced", by=office, now=at)
    audit_records(today=at.date(), now=at)
    assert is_open("copy_not_given")  # it came back
    give(minnesotan, technician, "paper", owner)
    audit_records(today=at.date(), now=at)
    assert not is_open("copy_not_given")


def test_a_copy_of_an_earlier_version_answers_the_rule(
    minnesotan: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    give(minnesotan, technician, "paper", owner)
    corrected(minnesotan, technician, manager)
    at = NOW + timedelta(days=6)
    audit_records(today=at.date(), now=at)
    assert not is_open("copy_not_given") and is_open("corrected_copy")


def test_no_personal_word_stands_where_it_is_never_forgotten(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    give(record, technician, "email", owner)
    give(record, technician, "paper", owner)
    send_notices(now=LATER)
    after = corrected(record, technician, manager)
    send_notices(now=LATER)
    kept = [*AuditEvent.objects.values_list("details", "thing", "act")]
    kept += [*NoticeEvidence.objects.values_list("said")]
    kept += [*OpenItem.objects.values_list("sentence", "closed_note")]
    leaves = LogEntry.objects.filter(branch=after.branch).values_list("leaf", flat=True)
    kept += [(bytes(leaf).decode(),) for leaf in leaves]
    assert len(kept) > 10
    assert not any(word in str(kept) for word in ("Marta", "Ellwood", "marta@", "Sluice"))


def test_a_purge_forgets_whom_the_copies_went_to(
    house: House, owner: Contact, technician: Person, manager: Person
) -> None:
    # nine years back: the database's own guard counts by its own clock
    then = NOW - timedelta(days=366 * 9)
    application = house.application(started_at=then - timedelta(minutes=9), finished_at=then)
    record = record_application(application=application, by=technician, now=then).record
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    waiting = give(record, technician, "email", make_contact(record.property.customer))
    purge_records(before=NOW.date(), by=manager, now=NOW)
    for notice in Notice.objects.all():
        words = (notice.to_name, notice.to_email, notice.subject, notice.body, notice.attachment)
        assert words == ("", "", "", "", None) and notice.forgotten_at == NOW
        assert notice.attachment_sha256
    waiting.refresh_from_db()
    assert waiting.state == "canceled"
    assert "no longer kept: taken by the mail server" in box_of(record, manager)
    with pytest.raises(Refused) as refused:
        give(record, technician, "paper", owner)
    assert refused.value.code == "forgotten"


def test_the_technician_gives_it_at_the_stop(
    record: ApplicationRecord, owner: Contact, technician: Person, visit: Visit
) -> None:
    Visit.objects.filter(pk=visit.pk).update(state="done", finished_at=NOW)
    client = client_for(technician)
    page = client.get(reverse("stop", args=[visit.pk])).content.decode()
    assert "Customer’s copy" in page and "Nobody has one yet." in page
    url = reverse("record_copy", args=[record.pk])
    answer = client.post(url, {"to": str(owner.pk), "way": "paper", "stop": visit.pk})
    assert answer.status_code == 302 and answer.url == reverse("stop", args=[visit.pk])
    page = client.get(answer.url).content.decode()
    assert "handed over on paper" in page and "by Terry Technician" in page


@pytest.mark.parametrize(
    "posted",
    [
        {},
        {"way": "paper"},
        {"to": LEFT},
        {"to": LEFT, "way": "pigeon"},
        {"to": LEFT, "way": "email"},
    ],
)
def test_a_form_that_says_too_little_comes_back(
    record: ApplicationRecord, technician: Person, posted: dict[str, str]
) -> None:
    client: Client = client_for(technician)
    answer = client.post(reverse("record_copy", args=[record.pk]), posted)
    assert answer.status_code == 422 and not Notice.objects.exists()


def test_pages_ask_a_fixed_number_of_questions(
    record: ApplicationRecord,
    owner: Contact,
    technician: Person,
    office: Person,
    django_assert_max_num_queries: Any,
) -> None:
    Visit.objects.update(state="done", finished_at=NOW)
    for number in range(3):
        who = make_contact(record.property.customer, f"Pat Example{number}")
        give(record, technician, "paper", who)
    stop = reverse("stop", args=[Visit.objects.get().pk])
    own = reverse("record", args=[record.pk])
    copy = reverse("record_copy", args=[record.pk])
    for person, url in (
        (office, reverse("notices")), (office, copy), (technician, stop), (technician, own),
    ):  # fmt: skip
        client = client_for(person)
        with django_assert_max_num_queries(30):
            assert client.get(url).content.decode().count("anded over on paper") >= 3
