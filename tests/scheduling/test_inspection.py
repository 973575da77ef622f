"""An inspector at the desk of a branch for a day: the link, the session, the papers, the end."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from accounts.models import AuditEvent, Branch, InspectorVisit, Person
from accounts.refusals import Refused
from accounts.services.inspectors import Received, enter_desk, receive_inspector
from tests.factories import client_for, make_contact, make_visit
from tests.treatments.conftest import NOW, House, house, make_house
from treatments.models import LabelFile, LogEntry
from treatments.services.recording import record_application

__all__ = ["house", "make_house"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DAY = "2026-11-25"
MIDNIGHT = datetime(2026, 11, 26, 5, tzinfo=UTC)  # Eastern Standard Time, UTC-5
PHONE = "+16145550177"


@pytest.fixture(autouse=True)
def _fresh_counters() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def clock() -> Iterator[Any]:
    """The suite's day at 3 PM in Ohio, to be moved on."""
    with time_machine.travel(NOW, tick=False) as moved:
        yield moved


@pytest.fixture
def received(manager: Person, clock: Any) -> Received:
    """A link for the Ohio branch."""
    return receive_inspector(
        branch_id=manager.branch_id,
        inspector_name="Robin Example",
        agency="Demonstration Department of Agriculture",
        by=manager,
        now=NOW,
    )


@pytest.fixture
def guest(received: Received) -> Client:
    """The browser of the inspector, at the desk."""
    client = Client()
    assert client.get(received.path).status_code == 200
    assert client.post(received.path).url == reverse("inspection")
    return client


def asked(client: Client, **question: str) -> Any:
    return client.get(reverse("inspection", query=question))


def test_only_the_digest_of_the_token_is_kept(received: Received) -> None:
    token = received.path.rstrip("/").rpartition("/")[2]
    assert re.fullmatch(r"[\w-]{43}", token)  # 256 bits in base 64 without padding
    row = InspectorVisit.objects.values().get()
    events = str(list(AuditEvent.objects.values()))
    assert token not in str(row) and token not in events
    assert row["ends_at"] == MIDNIGHT


def test_the_manager_s_page_shows_the_link_once(manager: Person, clock: Any) -> None:
    client = client_for(manager)
    url = reverse("desk_visits")
    typed = {"inspector_name": "Robin", "agency": "State", "branch": manager.branch_id}
    page = client.post(url, typed).content.decode()
    (link,) = re.findall(r"https?://[^<]+/inspection/enter/[\w-]+/", page)
    assert link not in client.get(url).content.decode()
    assert Client().post(link[link.index("/inspection") :]).status_code == 302
    empty = client.post(url, {"inspector_name": " ", "agency": "", "branch": "999"})
    assert empty.status_code == 422 and InspectorVisit.objects.count() == 1


def test_a_link_opens_once_and_signs_out_who_was_here(
    received: Received, manager: Person, clock: Any
) -> None:
    client = client_for(manager)
    assert client.get(reverse("uselog")).status_code == 200
    client.post(received.path)
    assert client.get(reverse("uselog")).status_code == 302
    assert client.get(reverse("inspection")).status_code == 200
    for method in ("get", "post"):
        again = getattr(Client(), method)(received.path)
        assert again.status_code == 422 and "was used already" in again.content.decode()
    with pytest.raises(Refused, match="used already"):
        enter_desk(token=received.path.split("/")[-2], now=NOW)


def test_pages_are_kept_private(guest: Client, received: Received) -> None:
    fresh = Client().get(received.path)
    for answer in (asked(guest), asked(guest, since=DAY), fresh):
        assert "no-store" in answer["Cache-Control"]
        assert answer["Referrer-Policy"] == "same-origin"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"


def test_the_desk_shuts_at_midnight_at_the_branch(guest: Client, clock: Any) -> None:
    clock.move_to(MIDNIGHT - timedelta(seconds=1))
    assert asked(guest).status_code == 200
    clock.move_to(MIDNIGHT)
    for answer in (asked(guest), guest.post(reverse("inspection_paper", query={"since": DAY}))):
        assert answer.status_code in (302, 403)
        assert b"Question" not in answer.content
    assert not AuditEvent.objects.filter(act="handed_over").exists()


def test_an_unopened_link_ends_at_midnight_too(received: Received, clock: Any) -> None:
    clock.move_to(MIDNIGHT)
    assert Client().post(received.path).status_code == 422


def test_the_manager_ends_it_at_once(guest: Client, received: Received, manager: Person) -> None:
    end = reverse("desk_visit_end", args=[received.visit.pk])
    for _ in range(2):
        assert client_for(manager).post(end).status_code == 302
    assert asked(guest).status_code == 403
    assert AuditEvent.objects.filter(act="inspector_revoked").count() == 1


def test_a_revoked_link_never_opens(received: Received, manager: Person) -> None:
    client_for(manager).post(reverse("desk_visit_end", args=[received.visit.pk]))
    assert Client().post(received.path).status_code == 422


def test_wrong_links_are_counted(received: Received) -> None:
    wrong = reverse("inspection_enter", args=["A" * 43])
    client = Client()
    found = [client.get(wrong).status_code for _ in range(22)]
    assert found == [422] * 20 + [429] * 2
    # who holds the right link still gets in: a wrong neighbor locks nobody out
    assert client.post(received.path).status_code == 302


def test_a_tampered_session_opens_nothing(guest: Client, received: Received) -> None:
    for value in (received.visit.pk + 1, str(received.visit.pk), True, None, -1):
        session = guest.session
        session["inspector_visit"] = value
        session.save()
        status = asked(guest).status_code
        # True is a number in Python: it must not name visit 1
        assert status == 403, value


def test_the_inspector_reads_the_branch_and_no_telephone(
    guest: Client, house: House, clock: Any
) -> None:
    make_contact(house.place.customer, phone=PHONE)
    record = record_application(
        application=house.application(), by=house.technician, now=NOW
    ).record
    page = asked(guest, since=DAY).content.decode()
    assert "118 Sluice Lane" in page and "Marta Ellwood" in page
    assert "Robin Example" in page and "/customers/" not in page
    assert PHONE[-7:] not in page and "555-0177" not in page
    assert f"/record/{record.pk}/" not in page


def test_another_branch_is_never_shown(
    guest: Client, house: House, branch_penn: Branch, manager: Person
) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    other = receive_inspector(
        branch_id=branch_penn.pk, inspector_name="Kim", agency="State", by=manager, now=NOW
    )
    client = Client()
    client.post(other.path)
    for question in (
        {"since": DAY},
        {"since": DAY, "branch": str(house.place.branch_id)},
        {"near": "40, -83", "miles": "25"},
    ):
        assert asked(client, **question).context["answer"].records == []
    assert asked(client, person=str(house.technician.pk)).status_code == 422
    assert asked(client, place="Sluice").status_code == 422


def test_what_is_taken_along_is_logged(guest: Client, house: House, received: Received) -> None:
    version = house.use.label_version
    LabelFile.objects.bulk_create(
        [LabelFile(label_version=version, kind="label", name="l.pdf", content=b"%PDF-1", size=6)]
    )
    visit = make_visit(house.place, house.technician)
    record = record_application(
        application=house.application(visit_ref=str(visit.ref)), by=house.technician, now=NOW
    ).record
    visit.applications.create(record=record)
    taken = (
        guest.post(reverse("inspection_paper", query={"since": DAY})),
        guest.post(reverse("inspection_label", args=[version.pk, "label"])),
        guest.post(reverse("inspection_notice", args=[visit.pk])),
        guest.post(reverse("inspection_bundle", query={"since": DAY})),
    )
    assert [answer.status_code for answer in taken] == [200] * 4
    events = AuditEvent.objects.filter(act="handed_over").order_by("pk")
    assert [one.details["what"] for one in events] == [
        "paper", f"label of label {version.pk}", f"notice of visit {visit.ref}", "bundle",
    ]  # fmt: skip
    assert {one.details["inspector_visit"] for one in events} == {received.visit.pk}
    assert {one.person_name for one in events} == {str(received.visit)}
    assert LogEntry.objects.filter(kind="handed_over").count() == 3
    assert LogEntry.objects.filter(kind="bundle").count() == 1


def test_every_look_is_noted(guest: Client, received: Received) -> None:
    asked(guest)
    asked(guest, since=DAY, lot="none such")
    looks = AuditEvent.objects.filter(act="desk_viewed").order_by("pk")
    assert [(one.details["asked"], one.details["status"]) for one in looks] == [
        ({}, 200),
        ({"since": DAY, "lot": "none such"}, 422),
    ]
    assert {one.thing for one in looks} == {f"accounts.inspectorvisit:{received.visit.pk}"}


def test_who_leaves_is_out(guest: Client, received: Received) -> None:
    assert guest.post(reverse("inspection_leave")).status_code == 302
    assert asked(guest).status_code == 403
    assert guest.post(received.path).status_code == 422


@pytest.mark.parametrize("role", ["office", "technician", "stranger"])
def test_only_a_manager_receives(role: str, request: Any, branch_ohio: Branch) -> None:
    with pytest.raises(Refused, match="role does not include"):
        receive_inspector(
            branch_id=branch_ohio.pk, inspector_name="A", agency="B",
            by=request.getfixturevalue(role), now=NOW,
        )  # fmt: skip


def test_papers_and_looks_have_a_ceiling(guest: Client, house: House) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    paper = reverse("inspection_label", args=[house.use.label_version_id, "label"])
    found = [guest.post(paper).status_code for _ in range(62)]
    assert found == [404] * 60 + [429] * 2
    assert asked(guest).status_code == 200
