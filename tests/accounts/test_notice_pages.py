"""The office's pages of notices: the list, one notice, the texts with their preview."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import Notice, NoticeTemplate, Person
from tests.factories import (
    client_for,
    make_branch,
    make_customer,
    make_label,
    make_person,
    make_property,
    make_record,
    make_zone,
)
from tests.notices import make_evidence, make_notice
from treatments.models import ApplicationRecord

pytestmark = pytest.mark.django_db
TEXT = {"subject": "Copy of {day}", "body": "Dear {contact}, see <3 & the paper."}


@pytest.fixture
def record(technician: Person) -> ApplicationRecord:
    place = make_property(make_customer(technician.branch))
    return make_record(make_zone(place), technician, make_label())


def post(client: Client, **fields: str) -> Any:
    return client.post(reverse("notice_template", args=["copy"]), TEXT | fields)


def test_the_list_says_what_is_known_and_filters(record: ApplicationRecord, office: Person) -> None:
    make_evidence(record)
    make_notice(record, state="refused", to_name="<b>Pat</b>")
    client = client_for(office)
    every = client.get(reverse("notices")).content.decode()
    assert "Shown on the phone" in every and "&lt;b&gt;Pat&lt;/b&gt;" in every
    assert "elivered" not in every
    refused = client.get(reverse("notices"), {"state": "refused"}).content.decode()
    assert "Shown on the phone" not in refused and "Refused by the mail server" in refused
    odd = client.get(reverse("notices"), {"state": "x\x00", "page": "-1"})
    assert odd.status_code == 200


def test_a_notice_of_another_branch_is_not_there(technician: Person) -> None:
    other = make_person(branch=make_branch(state="PA"))
    place = make_property(make_customer(other.branch))
    notice = make_notice(make_record(make_zone(place), other, make_label()))
    for name in ("notice", "notice_paper"):
        answer = client_for(technician).get(reverse(name, args=[notice.pk]))
        assert answer.status_code == 403


def test_the_paper_is_what_was_queued_and_is_kept_nowhere(
    record: ApplicationRecord, office: Person
) -> None:
    answer = client_for(office).get(reverse("notice_paper", args=[make_notice(record).pk]))
    assert answer.content == b"%PDF-1.7" and "no-store" in answer["Cache-Control"]


def test_it_is_sent_again_by_a_button(record: ApplicationRecord, office: Person) -> None:
    notice = make_notice(record, state="taken")
    answer = client_for(office).post(reverse("notice_again", args=[notice.pk]))
    assert answer.status_code == 302
    assert Notice.objects.get().state == "waiting"


def test_a_preview_stores_nothing(manager: Person) -> None:
    answer = post(client_for(manager), preview="1")
    page = answer.content.decode()
    assert answer.status_code == 200 and not NoticeTemplate.objects.exists()
    assert "Dear Ann Example, see &lt;3 &amp; the paper." in page
    assert "Dear {contact}" in page


def test_the_firm_s_own_text_is_stored(manager: Person, record: ApplicationRecord) -> None:
    assert post(client_for(manager)).status_code == 302
    assert post(client_for(manager), body="Hello {contact}").status_code == 302
    template = NoticeTemplate.objects.get()
    assert (template.subject, template.body) == ("Copy of {day}", "Hello {contact}")
    page = client_for(manager).get(reverse("notice_templates")).content.decode()
    assert "Hello Ann Example" in page and "the firm’s own text" in page


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"body": "{password}"}, "no placeholder of this notice"),
        ({"body": ""}, "required"),
        ({"body": "<p>Hello</p>"}, "Notices are plain text"),
        ({"body": "{% now %}"}, "no placeholder"),
        ({"body": "x" * 4001}, "4000"),
        ({"subject": "x" * 151}, "150"),
        ({"subject": "Copy\nBcc: x@y.example"}, "one line"),
    ],
)
def test_what_is_refused_comes_back_with_what_was_typed(
    manager: Person, wrong: dict[str, str], sentence: str
) -> None:
    for button in ({}, {"preview": "1"}):
        answer = post(client_for(manager), **wrong, **button)
        page = answer.content.decode()
        assert answer.status_code == 422 and sentence in page
        kept = TEXT["body"] if "subject" in wrong else TEXT["subject"]
        assert kept.replace("&", "&amp;").replace("<", "&lt;") in page
    assert not NoticeTemplate.objects.exists()


def test_an_unknown_kind_is_not_there(manager: Person) -> None:
    answer = client_for(manager).get(reverse("notice_template", args=["invoice"]))
    assert answer.status_code == 404
