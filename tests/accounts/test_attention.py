"""Open matters: listed oldest first, closed once, with what was done."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from accounts.models import AuditEvent, Branch, OpenItem, Person
from accounts.refusals import Refused
from accounts.services.audit import open_item
from accounts.services.open_items import close_item
from tests.factories import client_for, make_branch, make_customer

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)


def opened(branch: Branch, code: str = "stock_difference", thing: object = "lot:1") -> OpenItem:
    sentence = f"{thing}: counted 3 fl oz less. Say why."
    return open_item(branch_id=branch.pk, code=code, thing=thing, sentence=sentence)


def test_the_page_lists_what_is_open_and_leads_to_it(office: Person) -> None:
    customer = make_customer(office.branch)
    opened(office.branch, "label_unverified", customer)
    opened(office.branch, thing="place:3 label:4")
    page = client_for(office).get("/attention/").content.decode()
    assert "<b>2</b> matters still open" in page
    assert "Label unverified" in page and "Stock difference" in page
    assert f'<a href="{customer.get_absolute_url()}">Open it</a>' in page
    assert page.count("Open it") == 1  # the other names no row of a page


def test_a_kind_is_chosen_and_counted(office: Person) -> None:
    opened(office.branch, "label_unverified", "label:1")
    opened(office.branch)
    page = client_for(office).get("/attention/?kind=stock_difference").content.decode()
    assert "Label unverified (1)" in page
    assert "lot:1: counted" in page and "label:1: counted" not in page


def test_the_office_sees_its_own_branch_and_the_manager_every_one(
    office: Person, manager: Person
) -> None:
    elsewhere = opened(make_branch())
    assert elsewhere.sentence not in client_for(office).get("/attention/").content.decode()
    assert client_for(office).get(f"/attention/{elsewhere.pk}/close/").status_code == 404
    assert elsewhere.sentence in client_for(manager).get("/attention/").content.decode()


def test_kinds_say_how_many_how_old_and_who_must_act(office: Person) -> None:
    for number in range(2):
        opened(office.branch, "stock_below_zero", f"lot:{number}")
    old = opened(office.branch, "record_incomplete", "record:1")
    OpenItem.objects.filter(pk=old.pk).update(created_at=timezone.now() - timedelta(days=9))
    opened(office.branch, "never_declared", "thing:1")
    page = client_for(office).get("/attention/").content.decode()
    rows = page[: page.index("</table>")].split("<tr>")[2:]
    assert "Record incomplete" in rows[0] and "9&nbsp;d, since" in rows[0]
    assert "Technician" in rows[0] and "A01" in rows[0]
    assert any("Stock below zero" in row and ">2</td>" in row and "A17" in row for row in rows)
    # what no floor declares is the office's, under the words of its code
    assert any("Never declared" in row and "Office" in row for row in rows)


def test_matters_are_narrowed_to_who_must_act(office: Person) -> None:
    opened(office.branch, "record_incomplete", "record:1")
    opened(office.branch, "stock_below_zero", "lot:2")
    page = client_for(office).get("/attention/?acts=technician").content.decode()
    assert "record:1: counted" in page and "lot:2: counted" not in page
    page = client_for(office).get("/attention/?acts=office").content.decode()
    assert "Nothing needs attention." in page


def test_closing_keeps_the_note_and_says_so(office: Person) -> None:
    item = opened(office.branch)
    client = client_for(office)
    answer = client.post(
        f"/attention/{item.pk}/close/", {"note": "Spilled, cleaned up."}, follow=True
    )
    assert "Nothing needs attention." in answer.content.decode()
    assert "Spilled, cleaned up." in client.get("/attention/?show=closed").content.decode()
    assert AuditEvent.objects.filter(act="close_item", person_name=office.full_name).exists()


def test_a_blank_note_is_refused_and_nothing_closes(office: Person) -> None:
    item = opened(office.branch)
    answer = client_for(office).post(f"/attention/{item.pk}/close/", {"note": "  "})
    assert answer.status_code == 422
    item.refresh_from_db()
    assert item.closed_at is None


def test_a_matter_is_closed_once(office: Person) -> None:
    item = opened(office.branch)
    close_item(item_id=item.pk, note="Counted again.", by=office, now=NOON)
    with pytest.raises(Refused, match="Somebody closed this before you"):
        close_item(item_id=item.pk, note="Me too.", by=office, now=NOON)
    item.refresh_from_db()
    assert item.closed_note == "Counted again."


def test_a_technician_closes_nothing(technician: Person) -> None:
    item = opened(technician.branch)
    with pytest.raises(Refused) as refused:
        close_item(item_id=item.pk, note="Done.", by=technician, now=NOON)
    assert refused.value.code == "not_permitted"


def test_many_matters_take_as_many_queries_as_few(office: Person) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            client.get("/attention/")
        return len(seen)

    client = client_for(office)
    for number in range(3):
        opened(office.branch, thing=make_customer(office.branch, f"Customer {number}"))
    few = queries()
    for number in range(30):
        opened(office.branch, thing=make_customer(office.branch, f"Other {number}"))
    assert queries() == few
